"""Geographic survey files: read them, map their columns to ours, check every row, measure areas. No Django in here."""
