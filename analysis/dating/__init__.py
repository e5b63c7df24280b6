"""From a shelf life to the days a label may give."""
