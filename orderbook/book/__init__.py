"""`Book`: every command on a book or a folder of CSV files is a method of it."""
