"""The rehearsal page: a sheet opened in the browser, changed by hand and seen at once."""
