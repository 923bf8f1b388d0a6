"""The command line: options → library call → view. The only place that prints and exits."""
