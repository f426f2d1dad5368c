"""The ground as a map shows it: every surveyed patch with where it lies and one measure of it, in classes."""
