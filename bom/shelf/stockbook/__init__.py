"""The owner's stock book on the way out: the only room that writes a book somebody owns.

A workbook holds far more than a library that loads and saves it keeps, so nothing here does
that: the changed cells are spliced into the sheet's XML and all else is copied byte for byte.
"""
