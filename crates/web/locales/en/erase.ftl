# Everything taken out as one file, and what is erased for good.
erase-title = Take out and erase
erase-take-out = Take everything out
erase-take-out-text = One ZIP with every entry of every litter, tables for other programs, pages to print and calendars. Reading it brings everything back: whelpward import-all. Whoever has the file can read all of it.
erase-take-out-now = Save the ZIP on this device
erase-litter = Erase a litter
erase-litter-text = All that was ever written of it goes from the book, for good.
erase-person = Erase a person's name
erase-person-text = Of a carer, a vet or a new owner. A number stands in its place, in every litter and in "Who did what when". What the person did stays. The person's PIN goes, and the phones in that person's hand are signed out.
erase-nothing = None.
erase-name = Erase { $name }
erase-litter-goes = This litter has { $entries ->
    [one] 1 entry
   *[other] { $entries } entries
} (weighings: { $weighings }, feeds: { $feeds }). All of it goes, for good.
erase-person-goes = The name stands in { $entries ->
    [one] 1 entry
   *[other] { $entries } entries
} (weighings: { $weighings }, feeds: { $feeds }). "Person" and a number will stand there.
erase-sentences = These sentences change too. Look whether each of them means the person:
erase-is-out = All of it is in a ZIP that was saved.
erase-not-out = Not all of it is in a ZIP yet. Nothing can be erased before.
erase-not-out-then = When the file is on your device:
erase-look-again = Go on
erase-have-file = I have the ZIP, and I know where it is
erase-no-file = Nothing was erased. First say that you have the ZIP.
erase-old-copies = Remove the older copies of the book too, which still hold it
erase-type = Type the name as it stands here
erase-now = Erase for good
erase-back = Erase nothing
erase-done = Erased
erase-done-litter = The litter is gone from the book: { $entries ->
    [one] 1 entry
   *[other] { $entries } entries
}.
erase-done-person = "{ $instead }" stands in the place of the name, in { $entries ->
    [one] 1 entry
   *[other] { $entries } entries
}.
erase-not-cleaned = The database could not clear the old bytes from its disk yet: { $why }. It tries again with each copy of the book.
erase-new-copy = A copy of the book as it is now: { $file }
erase-copies-removed = { $count ->
    [one] 1 older copy was removed.
   *[other] { $count } older copies were removed.
}
erase-copies-left = These older copies still hold it:
erase-still = What was printed, sent or saved as a file before still has it. A phone that shows an old page has it until the page is opened anew.
