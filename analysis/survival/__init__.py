"""Interval-censored lifetimes: laws, likelihood, accelerated-failure-time fit, Turnbull."""
