litter-title = The litter
litter-same-axes = Weight by age, the same axes for every pup. Dotted: weight at birth.
litter-gone = No longer here
litter-left = { $pup }: { $why }
pup-weights = Weight
pup-intake = Milk by hand
pup-intake-taken = Last 24 hours: { $amount } in { $feeds ->
    [one] 1 feed
   *[other] { $feeds } feeds
}.
pup-intake-unknown = { $feeds } of them without an amount; not recorded is not zero.
pup-intake-need = Planned by hand: { $amount } a day in { $feeds } feeds.
pup-weigh = Weigh
pup-feed = Feed
pup-check = Check
pup-vet = Page for the vet
pup-events = What was written down
pup-no-events = Nothing yet.
pup-more-events = { $count } older entries are in the book.
pup-left = This pup has left the litter
pup-left-why = What happened
pup-left-save = Write it down
event-weighing = { $weight } { $unit }
event-feed = { $amount } { $method }
event-nursing = nursed, weighed before and after
entry-title = One entry
entry-wrong-pup = It was another pup
entry-correct = Correct it
entry-correct-save = Save the correction
entry-take-back = Take it back
entry-take-back-text = It no longer counts, and stays in the history.
entry-taken-back = This entry was taken back. It no longer counts.
entry-history = History
entry-counts = counts
entry-replaced = replaced
entry-was-taken-back = taken back
key-weight = Weight, as typed
key-weight-g = Weight in g
key-taken-ml = Taken, in mL
key-offered-ml = Offered, in mL
key-value = Reading
key-weight-before-g = Before, in g
key-weight-after-g = After, in g
chart-change = { $pup }: { $weight } at { $at }, { $change } since { $before }.
chart-one = { $pup }: { $weight } at { $at }.
chart-none = { $pup }: not weighed yet.
chart-from-birth = { $percent } % since birth.
chart-days = age in days
chart-birth = birth
chart-key = Line with points: weighed, in the scale's steps. Dotted: weight at birth. Long dashes: the lowest published gain from birth on (Small Animal Clinical Nutrition, Table 16-1). Upright dashes: 48 hours. Small triangles: fed by hand.
chart-not-zero = The scale does not begin at 0.
chart-table = The same as a table
chart-table-of = Weights of { $pup }
chart-gains = Gain by day
chart-last-day = last 24 h
chart-to-last = to the last weight
chart-24h = 24 h
chart-days-back = { $days ->
    [one] 1 day before
   *[other] { $days } days before
}
chart-day = Day
chart-taken = Taken
chart-unknown = Feeds without an amount
chart-intake = Milk taken by hand, day by day
chart-intake-key = Bars: taken by hand. Dashed line: planned by hand in a day. Empty outline: feeds without an amount.
