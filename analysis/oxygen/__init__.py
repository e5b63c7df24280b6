"""Package oxygen: from readings to each lot's dose."""
