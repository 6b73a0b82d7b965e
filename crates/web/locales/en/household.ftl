# Several phones on one litter, and pages that go on without the program.
outbox-saved = Saved on server { $at }
outbox-waiting = { $count } waiting on this phone
outbox-gone = Server not reached since { $at }
outbox-needs-program = This page needs the server, and it is not reached. What you typed is still here.
outbox-sending = Saving …
outbox-clock-fast = This phone's clock is { $minutes } min fast; times are corrected.
outbox-clock-slow = This phone's clock is { $minutes } min slow; times are corrected.
outbox-set-aside = Kept on this phone: the server did not take it.
outbox-again = Send it again
outbox-why = The server said:

claim-by = { $who } is feeding ({ $at })
claim-somebody = Another phone

late-feed = Late feed:
late-to-feed = To the feeding round

ask-same-feed = Same feed written twice, or two feeds?
ask-same-feed-text = { $pup }: { $first } ({ $one }) and { $second } ({ $other }). Until you say, the stomach counts both.
ask-one-feed = One feed
ask-two-feeds = Two feeds
ask-weigh-again = Two phones show different weights: weigh again
ask-corrected-twice = Corrected twice; the later one counts
ask-withdrawn = Taken back by one, corrected by another; it counts
ask-same-name = Two pups with one name
ask-does-not-read = An entry does not count, because it does not fit the others
ask-look = Look at it
ask-aside = { $count ->
    [one] 1 entry waits for you
   *[other] { $count } entries wait for you
}
ask-aside-text = The book could not take it as it came. Nothing is lost.

aside-title = Waiting for you
aside-none = Nothing waits.
aside-unreadable = An entry that does not read
aside-why = Not taken as it came: { $why }.
aside-own = It is right: write it down as its own entry
aside-arrived = It happened when it arrived, { $at }
aside-out = Leave it out

# Shown by script while the program cannot be reached.
away-title = Without the server
away-text = The server is not reached. Keep this page open: without the server it cannot be opened again. You can weigh, feed and check here. All of it is kept on this phone until the server is back.
away-text-opens-again = The server is not reached. You can weigh, feed and check here. All of it is kept on this phone until the server is back, also when this page is closed.
away-as-known = As known at {"{at}"}: what others wrote down since is not in it.
away-frame = The server is not reached. What this phone kept is being opened.
away-frame-none = The server is not reached, and this phone has kept no plan of this litter. Open its pages once where the server answers.
away-next-round = Round at {"{at}"}
away-no-round = No round is planned until {"{at}"}.
away-weigh = Weigh
away-feed = Feed
away-check = Check
away-back = Back
away-kept = {"{what}"} Kept on this phone, not on the server yet.
away-not-planned = No amount is known for this pup without the server. What it took can always be written down.
away-plan-old = The plan is older than 12 hours. No amount without the server: use the printed sheet, or ring the vet.
away-no-milk = No milk now
away-smaller = Less than was planned, because of what was written down since.
away-fed-as-shown = Fed {"{ml}"} mL: {"{pup}"}
away-checked-and-fed = Checked, and fed {"{ml}"} mL: {"{pup}"}
away-temperature = Rectal temperature, if you took it
away-too-cold = Too cold for milk at {"{c}"} °C: warm it first. Feed it only when it reads {"{limit}"} °C or more.
away-too-hot = Too hot at {"{c}"} °C: cool the box, open a cool end, take the temperature again in 15 to 30 min.
away-vet-now = Ring the vet now.
away-vet-now-do-not-wait = Ring the vet now, do not wait.
away-other = Another amount
away-taken = Taken
away-save = Save
away-save-weight = Save {"{value}"} {"{unit}"} for {"{pup}"}
away-save-ml = Save {"{value}"} mL
away-last = Last: {"{weight}"}, {"{at}"}
away-never-weighed = Never weighed
away-unusual = {"{pup}"}: {"{weight}"} is unusual. Last: {"{last}"}.
away-again = Weigh again
away-keep = Keep it, it is right
away-tenth-lost = A tenth of its weight or more is lost. Ring the vet now.
away-fed-lately = {"{pup}"} was fed {"{min}"} min ago.
away-same-feed = The same feed: save nothing
away-another-feed = It is another feed: save it
away-early = The next feed of {"{pup}"} is planned for {"{at}"}.
away-changed = The plan for {"{pup}"} has changed: the button said {"{ml}"} mL, it is now {"{now}"} mL.
away-show-new = Not given yet: show the new amount
away-given = It was given: save it
away-not-fed = It was not fed: save nothing
away-number = A number such as 6 or 4.5
away-range = Allowed: {"{min}"} to {"{max}"} {"{unit}"}
away-more-than-it-weighs = {"{ml}"} mL is more than {"{pup}"} weighs. Is it the weight?
away-most = never more than {"{ml}"} mL
away-above-most = {"{ml}"} mL is more than its stomach holds, {"{most}"} mL. Watch its belly and breath. If the belly is taut or the breath is noisy, ring the vet now.
away-only-after = Only after you have checked: {"{what}"}
away-all-weighed = All weighed
away-all-fed = All fed
away-stop = Stop when it turns away, when its belly is full, when milk comes to the nose, or when its breath is noisy.
away-looked-at-later = Kept. What it means is worked out when the server is back. If anything worries you, ring the vet.
tap-past-gate = a temperature taken now, or a carer who decides; nothing was written down
past-gate-aside = a helper fed it while milk was withheld
