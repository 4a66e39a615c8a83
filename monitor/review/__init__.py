"""Why a cure stayed tacky: findings, each with evidence for and against."""
