"""Many draws of one history at once: colonies, and the mites in them, as arrays. In: draws. Out: a value a draw."""
