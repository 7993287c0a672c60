"""Boards to print: the storyboard, and variations to choose from."""
