"""From the records of a book to the answer about one barrel, and to what a restoration record tells."""
