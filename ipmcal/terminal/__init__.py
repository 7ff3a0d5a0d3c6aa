"""What the commands share on a terminal."""
