"""The count, the verdict and what follows from them: pure, no clock, disk, port or network."""
