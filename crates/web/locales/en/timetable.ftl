timetable-title = Timetable
timetable-none = No feeding round is planned.
timetable-equal = Nobody's hours are written down, so the rounds are equally spaced.
timetable-trouble = No timetable fits everyone's hours
timetable-help = One of these would help:
timetable-shift = { $carer }: { $bottles } by bottle, { $tubes } by tube
timetable-woken = woken
timetable-figures = { $rounds } rounds in two days, { $minutes } minutes a day, { $wakes } broken nights, longest gap { $gap } h.
timetable-wakes = { $carer } is woken { $times ->
    [one] once
   *[other] { $times } times
}.
timetable-picture = { $count } rounds in the next two days
timetable-key = Filled: a round. Hollow: someone is woken for it.
timetable-sleep = What if nobody gets up?
timetable-sleep-at = For the round at
timetable-ask = Ask
timetable-may = The round at { $at } may be slept through.
timetable-may-not = The round at { $at } may not be left out.
timetable-options = Other plans
timetable-largest = largest feed { $amount }, never more than { $most }
