"""Application records: what they hold, by whose dated rules, who signed them, and how long they are kept."""
