"""A demonstration brewery, drawn from a stated truth and written down as people keep files."""
