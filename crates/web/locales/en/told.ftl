told-late = written down late
told-uncertain = time uncertain
told-late-on = Written down late: 12 hours or more after the time that it tells. It came into the book { $at }.
told-uncertain-why = Its time is uncertain: the two clocks of the device that wrote it differed by more than a minute.
