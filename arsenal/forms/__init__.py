"""Forms of the arsenal pages, one module per subject."""
