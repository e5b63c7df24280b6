"""What a week asks for: pulls, tastings, meter checks, retained samples, files; rules, no model."""
