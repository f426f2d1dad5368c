"""Pure computation for vegetation work: facts in, hours, material, money, windows and plans out.

Only the standard library and numpy. No clock, no files, no database, no settings: everything a function needs is an
argument, so that a figure can be computed again at any time from what was kept beside it.
"""
