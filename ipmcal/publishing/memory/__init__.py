"""What was last published."""
