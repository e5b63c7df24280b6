"""Take a brewery's files in, keep them, and run the analysis over them."""
