"""Brood, comb and mites: formulas with their literature; the numbers come in as arguments."""
