"""Rules and states become errands: chains for packing, kept apart where they must be."""
