"""What each colony is owed: where its strands stand, what it is fit for, steps of its courses and counts."""
