"""Rule files become the rulebook, cross-checked."""
