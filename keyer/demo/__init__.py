"""A demo project in an invented setting: pictures drawn by code, true mattes known."""
