"""Figures, measured and printed; nothing here passes or fails."""
