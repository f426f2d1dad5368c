"""Days in English as every page writes them: Jan 4, 2027; Jan 4, 2027, 9:15 a.m."""

DATE_FORMAT = "M j, Y"
DATETIME_FORMAT = "M j, Y, P"
