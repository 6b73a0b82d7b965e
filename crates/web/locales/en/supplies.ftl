# What to have in the house before the birth.
supplies-title = What to have in the house
supplies-for = Reckoned for { $litter }.
supplies-chance = The chance that any pup is fed by hand is { $any } %; that all of them are, { $all } %.
supplies-due = Due { $first } to { $last }. Have things ready by { $ready }.
supplies-now = Buy now
supplies-later = Buy later, on the day that hand-feeding begins
supplies-sources = Where these lines come from
supplies-cost = Cost { $cost }.
supplies-packets = { $packets ->
    [one] one packet
   *[other] { $packets } packets
}
supplies-sure = How sure each quantity is
supplies-enough = Enough in so many of 100 litters
supplies-what = What
supplies-error = Small: where endless draws would put the figure (95 %). { $draws } draws, seed { $seed }.
supplies-assumptions = What this rests on
supplies-assumptions-text = Nothing of this is saved: it only changes what stands above.
supplies-packet = Size of a packet of your milk, g or mL
supplies-packet-price = Price of a packet, in your money
supplies-all = All { $count } of them, with sources
supplies-hint = { $basis }; { $min } to { $max } may be set. { $source }
supplies-again = Reckon again
supplies-refused = { $field }: found "{ $found }". Allowed: a number from { $min } to { $max }.
