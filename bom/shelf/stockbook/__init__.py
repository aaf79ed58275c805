"""The owner's stock book on the way out: the only room that writes a book somebody owns.

A workbook holds far more than a library that loads and saves it keeps, so nothing here does
that: the changed cells are spliced into the sheet's XML and all else is copied byte for byte.
In the order of work:

    keep.open_elsewhere(book)             who has it open in a spreadsheet program
    with keep.locked(book):               one bom at a time; finishes what a killed run left
        data, seen = safely.look(book)    the bytes, and what to know them by
        keep.save(book, new, seen, copies=rules.keep_copies)

`owner.OwnersBook` does this for whichever kind the book is; `splice` changes a workbook, `lines` a
.csv, `newsheet` puts a sheet behind the others, `stale` tells which stored results may no longer be
true.  Whether a book was changed since it was read is told by its bytes, not by its time.  Who
holds the lock stands in a file of its own, since Windows lets nobody read a locked one.  What
cannot be written is a `NotWritten` with `says` and `cure`: the old book is whole then.
"""
