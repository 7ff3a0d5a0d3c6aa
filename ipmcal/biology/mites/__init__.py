"""The mites of one colony, a day a step, linear in mites: what they come to with and without traps and courses."""
