"""Where a day begins: the start page, the search and the watch."""
