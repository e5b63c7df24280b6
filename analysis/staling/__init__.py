"""The staling model by style and format: evidence, design, fit, prediction."""
