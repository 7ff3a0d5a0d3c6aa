"""Values: cited quantities, days, counts, texts, and the forms in which files write them."""
