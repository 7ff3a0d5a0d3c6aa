"""Plan a beekeeper's yard visits against varroa from rules, dates and days."""

__version__ = "0.1.0"
