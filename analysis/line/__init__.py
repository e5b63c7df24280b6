"""What the packaging line did: its oxygen over time, where it comes from, the meters behind it."""
