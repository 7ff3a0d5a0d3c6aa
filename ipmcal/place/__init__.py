"""The place: when its season moves, how warm its days are."""
