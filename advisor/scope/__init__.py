"""What will be done about the verdicts, and what follows from one part for the others."""
