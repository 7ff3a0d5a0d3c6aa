"""What was written down, replayed: which colony stands where, its state, its courses, the yard's season."""
