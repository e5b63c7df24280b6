"""One module for each page: it words its tables and charts, and names its template."""
