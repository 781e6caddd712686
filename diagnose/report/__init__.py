"""What comes out: for a person in the terminal and on a page, for other programs as JSON."""
