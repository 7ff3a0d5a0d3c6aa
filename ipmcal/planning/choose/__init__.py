"""The courses of a yard: what is wanted, what may be had, which set is best, and how it is told."""
