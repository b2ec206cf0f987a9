"""One module a chart, named like the analysis whose result it draws."""
