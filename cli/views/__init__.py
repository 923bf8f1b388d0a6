"""Results → tables, text and JSON. Pure functions: nothing here prints or reads."""
