"""Pure functions from what was read to the plan. No files, no clock, no randomness."""
