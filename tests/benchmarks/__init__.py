"""Measured figures: `python -m tests.benchmarks NAME`. They print and people judge; no test goes by time."""
