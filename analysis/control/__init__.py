"""Whether a measured quantity stays as it was: charts, capability, and the meters behind them."""
