"""The mites ahead: what they do under a plan as it is packed, drawn day by day and moved by each count."""
