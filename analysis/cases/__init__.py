"""A trade complaint against what is known of its lot, and what the quarter brought."""
