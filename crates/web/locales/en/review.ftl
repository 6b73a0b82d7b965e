# Looking back on a litter, and the page "from paper".
review-title = Looking back
review-facts = Three facts
review-changes = Three changes for the next litter
review-numbers = The numbers
review-count = Count
review-of = { $n } of { $of }
review-none = no sign to act on
review-stillborn = Stillborn, of all born
review-died-early = Died in the first two days, of those born alive
review-died-later = Died later
review-put-to-sleep = Put to sleep
review-fostered = Fostered
review-in-out = { $in } in, { $out } out
review-home = Gone home
review-right = Warnings that were right
review-late = Right ones that came late
review-undecided = Warnings that are not decided yet
review-false = Warnings without trouble
review-missed = Trouble without a warning
review-action = From first sign to first act, in the middle
review-gaps-late = Feeds by hand that came late
review-gaps-missed = Feeds missed, or not written down
review-kept = Kept as typed after a stop for { $limit }
review-badly-set = Over half of at least 20: this limit is badly set
review-fed = Milk fed by hand
review-no-milk = none
review-left = { $left } of what was offered left over
review-without-amount = { $feeds ->
    [one] 1 feed without an amount
   *[other] { $feeds } feeds without an amount
}
review-milk = Milk mixed
review-milk-words = { $mixed }; { $percent } % not fed
review-no-mixing = No mixing is written down, so waste and cost are not known. A folder has no place for one; in the book the button "Mixed" keeps it.
review-no-cost = not known: needs the grams of powder of each mixing, and the price of the milk in use
review-cost = Cost of the powder, in your money
review-nights = Broken nights
review-night = { $carer }: { $broken } of { $of } nights
review-history = What this house's own record changes
review-noise = How far one reading is off, as a share of the weight: { $before } % was assumed, { $after } % was learned from this litter.
review-birth = Middle weight at birth: { $weight }.
review-priors = What is assumed of the next litter
review-before = Before
review-after = After
review-own-litters = Own closed litters
review-priors-how = "Before" is the source's figure. "After" counts the closed litters of this house beside it. The supplies reckon with "after". For the size only litters of the same kind of dog count.
review-words = How this was counted
review-defined = A warning lasts while a pup stands at "needs help" or "ring the vet". Trouble is what the record shows: a loss, a vet's order, a medicine, or feeding by hand begun after the first day while the dam nursed. A warning was right when trouble began in it or within 72 hours after it, and late when less than 12 hours came before. Without trouble it is not decided until those 72 hours are over. A pup that was helped in time without any of these is among "without trouble". A feed is late half an hour after the longest gap for its age, and missed after twice that gap; only pups that live by hand count. A night is broken by a feed between 23:00 and 06:00, or in the carer's own hours of sleep. These words are our own.

paper-title = From paper
paper-how = Type in what stands on the sheets. Empty rows are left out. Each row is saved by itself, and a row that does not read stays here.
paper-weights = Weights
paper-feeds = Feeds by hand
paper-line = Line { $line }
paper-method = How
paper-left = { $rows ->
    [one] 1 row was not saved. Look at it below; the others are saved.
   *[other] { $rows } rows were not saved. Look at them below; the others are saved.
}
paper-right = It is right as it stands
paper-no-time = no time
paper-no-pup = no pup was chosen
paper-no-amount = no amount
paper-amount-allowed = what it took, in mL; 0 when it took nothing
paper-save-weights = Save the weights
paper-save-feeds = Save the feeds
