"""Outlook: the mites ahead, as a picture with its words; the season behind."""
