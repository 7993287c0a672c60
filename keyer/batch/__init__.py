"""Many rows, one sheet: read, checked before anything is drawn, rendered, resumed."""
