"""Lists: what a mentor reads of all keepers, and tables for spreadsheets."""
