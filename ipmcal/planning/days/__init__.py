"""Words of a rule become days with their reasons, and chains of the keeper's days."""
