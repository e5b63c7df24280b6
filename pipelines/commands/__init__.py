"""The commands of `stalecurve`, one module for each kind of work."""
