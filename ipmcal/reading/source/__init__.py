"""Files as text with positions, and complaints about them."""
