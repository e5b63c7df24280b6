"""The jobs of the command, each a short list of calls."""
