"""The glue of what keepers say: `ipmcal log`, messages, printed sheets, and lines appended to the journal."""
