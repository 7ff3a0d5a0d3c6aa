"""The plan on paper, on a page, in a feed and as data."""
