# Before the birth.
expecting-title = Before the birth
expecting-born = The pups are born: what comes now stands on the first page.
expecting-due = When it is due
expecting-unknown = Not known yet. Write a day down below: ovulation or the LH surge if a vet found it, else the mating.
expecting-middle = Most likely about { $day }.
expecting-counted = Counted from { $from } on { $day }.
expecting-days-left = { $days ->
    [one] One day until the first of these days.
   *[other] { $days } days until the first of these days.
}
expecting-ring = No labour by { $day }: ring the vet that day.
expecting-temperature = Her temperature
expecting-measure = Enter her temperature
expecting-no-reading = No reading yet. In the last week before the birth: two readings a day, at the same hours.
expecting-no-drop = No drop so far.
expecting-low-once = One low reading. Measure again by { $by }: it counts when the second one is low too.
expecting-dropped = It dropped at { $at }. In about four of five dams straining begins between { $from } and { $to }. Stay near.
expecting-overdue = It dropped at { $at }, and no labour is written down: ring the vet now.
expecting-key = Dashed: 37.2 °C, the published line. Triangle: at or below it. No line over a day without a reading.
expecting-never-wait = A drop is never waited for: many dams show none.
expecting-low = At or below 37.2 °C
expecting-is-low = yes
expecting-clocks = Clocks of the birth
expecting-what = What
expecting-watch = Watch from
expecting-vet = Ring the vet at
expecting-at-once = at once
expecting-days = The days to count from
expecting-days-text = One is enough. The surest of them is used.
expecting-ovulated-at = Ovulation, as a vet found it
expecting-lh-surge-at = LH surge, as a vet found it
expecting-mated-at = First mating, or the only one
expecting-date-hint = A day such as 2026-09-20
expecting-date-wrong = { $field }: found "{ $found }". Allowed: a day up to today, such as 2026-09-20.
expecting-mated-once = That was the only mating
expecting-dam-weight = Weight of the dam, kg
expecting-save = Save these days
expecting-nothing = Nothing is filled in. Write down at least one day.
