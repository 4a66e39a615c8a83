"""What the findings share: the answers asked for, the facts of a record, and how they weigh."""
