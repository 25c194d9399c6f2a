"""What follows from the facts on record; derived here and nowhere else."""
