# The clock of the computer that serves.
clock-title = The clock of this computer
clock-set = The network has set it since this computer was started. It says { $now }.
clock-not-set = This computer's clock has not been set by the network since it was started. It says { $now }: look whether that is right.
clock-not-known = Whether the network sets it is not known here. It says { $now }: look whether that is right.
clock-jumped = This computer's clock jumped { $way ->
    [back] back
   *[forward] forward
} by { $by } at { $at }. It now says { $now }: look whether that is right. If it is, entries from before the jump have wrong times.
