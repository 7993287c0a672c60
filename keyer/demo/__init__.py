"""A demo project in an invented setting: its media lie in `examples/demo`, true mattes known."""
