"""Pages that say in plain words what the newest run supports, read from `published` views only."""
