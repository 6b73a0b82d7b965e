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
timetable-alarms = Alarms
timetable-wakes-nobody = This program wakes nobody. Set alarms on a phone, or put the calendar file on it and look whether it rings.
timetable-everyone = Everyone
timetable-set-alarms = { $carer }: set these alarms for the next 24 hours: { $times }
timetable-no-alarm = { $carer }: no round in the next 24 hours.
timetable-files = Calendar file of the next two days: it says how many pups, no names and no amounts.
timetable-file-of = Calendar file for { $carer }
timetable-file-all = Calendar file with all rounds
timetable-file-old = The rounds move with each weighing. Then fetch the file anew, and delete the feeds of the old one from the calendar.
