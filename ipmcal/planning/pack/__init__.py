"""Chains on the keeper's days: the fewest visits, each as near its best days as may be."""
