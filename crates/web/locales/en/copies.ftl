# Copies of the book.
copies-title = Copies of the book
copies-last = The last good copy is of { $at }: { $file }
copies-none = No copy yet. They go into { $folder }
copies-next = The next is due at { $at }.
copies-kept = Every hour in a litter's first two weeks, else every day; { $hourly } hourly, { $daily } daily and { $weekly } weekly ones are kept.
copies-second = A second copy goes into { $folder }.
copies-no-second = To keep a second one on a stick, start the program with: whelpward serve --second-copies FOLDER
copies-failed = No copy of the book can be made: { $why } Your entries are saved. It is tried again every minute.
copies-second-failed = The second copy is not made: { $why } The first one is good.
