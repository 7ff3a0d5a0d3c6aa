"""Paper: from a plan to pages, from pages to PDF."""
