"""aswound."""
