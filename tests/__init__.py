"""The tests: one file per module, under the same path; tests/outside/ checks against others' work."""
