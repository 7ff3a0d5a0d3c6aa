"""From files to frozen values, with every complaint at its file, line and column."""
