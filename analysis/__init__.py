"""Statistics of staling: frames and arrays in, frozen records and frames out.

Nothing here knows a file, a database, a clock, a log, a setting or a chart.
"""
