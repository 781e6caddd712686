"""The knowledge as a book: static pages that work from a folder without network, and print.

`book_of` makes all pages in memory (the same bytes on every machine), `write_book` puts them into a folder. A page is
put together in words here (`entries`, `questions`, `sums`, `lists`), and only `book` knows HTML.
"""

from diagnose.report.handbook.book import book_of, write_book

__all__ = ["book_of", "write_book"]
