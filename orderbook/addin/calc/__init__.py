"""The worksheet functions in LibreOffice Calc: an add-in made from the table, and the process that answers it."""
