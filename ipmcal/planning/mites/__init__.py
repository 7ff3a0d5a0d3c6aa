"""The year's courses, chosen by what they do to the mites: labels' answers, walls, enumeration, what is enough."""
