"""The courses of a yard's year by what the mites will do: asked, followed day by day, and given to planning."""
