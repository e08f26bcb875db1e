"""What was refused: kept so that nobody can say afterwards that it was not asked."""
