# Who comes in over the home network, with what, and what was done.
role-breeder = breeder
role-carer = carer
role-helper = helper
role-reader = reader
role-text-breeder = may do everything, and lets people in
role-text-carer = writes everything down, and changes own entries for a day
role-text-helper = weighs and feeds as the program says; cannot feed a pup that gets no milk now, and cannot keep a doubtful number
role-text-reader = looks, and writes nothing

join-page = Joining
join-title = You are joining as { $name } on this phone
join-button = Join as { $name }
join-note = The link counts once. This phone then stays signed in for 60 days after it was last used.
join-refused = This link opens nothing
join-ask = Ask the breeder for a new link. It is made under Phones and people.

sign-in-title = Sign in
sign-in-link = On a phone it is easier to ask the breeder for a link, and to point the camera at it.
sign-in-password = The household's password
sign-in-hint = It may be pasted, or filled in by what keeps your passwords.
sign-in-button = Sign in as the breeder
device-unknown = A device
device-padlock = { $kind }, with padlock

door-waiting = Entries that wait on this phone: { $count }. They stay here. After the next sign-in they are sent as soon as a litter is opened.
door-refused = Entries that the server did not take: { $count }. They stay here. After the next sign-in they are shown as soon as a litter is opened.
door-no-password = No password is set. Set one at the computer: whelpward password
door-wrong = That is not right.
door-closed = Wrong too often. Try again in { $seconds } s.
door-no-such-link = There is no such link.
door-link-used = This link was used already.
door-link-over = This link is too old, or was taken back.
door-too-many = As many devices as can be are signed in. Sign one out under Phones and people.
door-no-such-person = Nobody of that name is in the household.
door-needs-pin = This phone was let in for less than that person may do. That person needs a PIN first, or joins by a link.
door-needs-password = The breeder signs in with the password, or joins by a link.

who-title = Who is here?
who-nobody = Nobody is in the household yet. The breeder adds people under Phones and people.
who-with-pin = with PIN
who-pin-of = PIN of { $name }
who-i-am = I am { $name }
who-own-pin = My PIN
who-own-pin-text = With a PIN nobody else writes under your name by mistake. It may be pasted.
who-pin-before = The PIN until now
who-pin-new = New PIN
who-pin-hint = 4 to 6 digits
who-pin-save = Save my PIN
who-sign-out = This device
who-sign-out-text = Signed out, it sees nothing more. To come back it needs a new link.
who-sign-out-button = Sign this device out

household-title = Phones and people
household-how-1 = Other phones come in when the program is started at this computer with:
household-how-2 = It needs a password first, below. It then shows an address for phones, and here you make a link for each phone.
household-phone = Let a phone in
household-phone-text = Makes a link for one phone. It counts once, for 10 minutes.
household-phone-for = Link for { $name }'s phone
household-phone-other = Somebody else
household-phone-make = Make the link
household-name = Name
household-name-hint = As written down under Settings, Carers: then entries carry the name
household-role = May
household-devices = Signed in
household-this-one = this one
household-seen = Seen { $at }
household-sign-out = Sign out
household-sign-out-all = Sign all devices out, this one too
household-people = People
household-role-save = Save
household-pin-remove = Remove the PIN
household-remove = Take out, and sign their devices out
household-add = Add somebody who uses a phone that is in already
household-add-hint = Takes it over under "Who is here?"
household-add-save = Add
household-vet = A link for the vet
household-vet-text = Shows one litter's page for the vet on the home network, and nothing else. Nothing can be written with it. There is none unless you make one.
household-vet-for = For { $litter }
household-vet-days = { $days ->
    [one] 1 day
   *[other] { $days } days
}
household-vet-make = Make the link
household-vet-open = { $litter }: open until { $at }
household-vet-end = Take it back
household-address = Where phones find the pages
household-address-none = This computer has no address on a home network now. Connect it to the home network, then open this page again.
household-address-changes = The router can give this computer another number; it then stands here. There a phone signs in anew; codes on paper, and entries that still wait on a phone, belong to the number of before. A fixed number, set in the router, avoids this.
household-plain = This is plain http: somebody who records the traffic of your network can read it. Keep strangers on a guest network.
household-padlock = With a padlock (https), once a device trusts this computer:
household-password = The household's password
household-password-set = A password is set.
household-password-none = No password is set. Without one nobody is let in over the network.
household-password-before = The password until now
household-password-new = New password
household-password-hint = At least { $characters } characters, such as four words
household-password-again = The same again
household-password-save = Save the password
household-password-differ = The two are not the same.

link-how = Point the phone's camera here, or type the address.
link-phone-title = A link for { $name }'s phone
link-phone-text = It counts once, within { $minutes } minutes.
link-vet-title = { $litter }: a link for the vet
link-vet-text = It ends after { $days } { $days ->
    [one] day
   *[other] days
}, or when you take it back.
vet-link-until = Shown by the breeder until { $at }. Nothing can be changed here.
vet-link-over = This page is no longer shown

audit-title = Who did what when
audit-only-doors = Only sign-ins and refusals
audit-all = Entries too
audit-nothing = Nothing yet.
audit-older = Older
audit-taken-back = taken back: { $what }
audit-corrected = corrected: { $what }
audit-password-set = The password was set
audit-signed-in = Signed in
audit-signed-out = Signed out
audit-all-signed-out = All devices were signed out
audit-link-made = A link for a phone was made
audit-vet-link-made = A link for the vet was made
audit-link-ended = A link was taken back
audit-handed-over = The device is now with
audit-role-set = A role was set
audit-person-removed = Taken out of the household
audit-pin-set = A PIN was set
audit-pin-removed = A PIN was removed
audit-written-out = The whole book was saved as a ZIP
audit-litter-erased = A litter was erased
audit-name-erased = A name was erased
audit-refused-host = Refused, asked for under another name
audit-refused-origin = Refused, sent from another page
audit-refused-token = Refused, a form without the token of its browser
audit-refused-foreign = Refused, from outside the home
audit-refused-path = Refused, a crooked address
audit-refused-too-large = Refused, too large
audit-refused-too-fast = Refused, too often
audit-refused-signed-out = Refused, not signed in
audit-refused-role = Refused, not allowed to this person
audit-refused-secret = Refused, a wrong password or PIN
audit-refused-password = Refused, no password is set
audit-refused-link = Refused, a link that opens nothing
audit-refused-devices = Refused, too many devices
audit-refused-gate = Refused, a feed although no milk may be given
audit-refused-gate-aside = Kept aside, a helper fed although no milk may be given
audit-refused-slow = Cut off, a request that never ended

fault-foreign-text = These pages are only for the home network.
fault-large-text = This was larger than any form. Nothing was saved.
fault-slow-text = It did not come to its end in time. Nothing was saved. Go nearer to the Wi-Fi, then send it again.
fault-fast-text = Asked too often. Wait a little, then try again. Nothing that was saved is lost.
fault-signed-out-text = This device is not signed in. Nothing was saved. Ask the breeder for a link, then enter it again.
fault-role-text = A { $role } may not do this. A carer or the breeder can, on this phone too: tap the name at the top of the page.

slip-helper = A carer or the breeder can keep this number. Or weigh again: the same weight twice is taken.
feed-again-helper = A carer or the breeder can say that it was fed twice.
feed-gate-title = No milk now
feed-gate-text = Nothing was saved as a feed. What you tried is kept under "Who did what when". If { $pup } was fed all the same, a carer or the breeder writes it down, on this phone too.
