"""One module per command, thin: options in, the work done elsewhere, the result through `output`."""
