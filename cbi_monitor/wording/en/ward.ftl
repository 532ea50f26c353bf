# What is said beside a field, on a failed save, and on the door to the ward's use cases.
place-check-slip = check slip
place-entry = entry
place-session = session

fault-not-saved = NOT SAVED. Write it on paper. Reference { $reference }.

refuse-no-figure = “{ $typed }” is not a figure
write-volume = write mL like 1200, ~300 for about 300, ? for not measured
write-number = write a number like 500
refuse-no-pain-number = “{ $typed }” is not a pain score
refuse-pain-missing = not comfortable: the pain score is missing
write-pain = write a whole number from 0 to 10
refuse-clots-without-colour = clots are entered without a colour
write-colour = choose the colour in the tubing
refuse-drainage-missing = the volume of the drainage is missing
refuse-no-setting = “{ $typed }” is not a roller setting
write-setting = write off, slow, moderate, fast or wide_open
refuse-drop-size-missing = drops a minute need the drops per mL of the set
write-drop-size = write the number on the giving set’s packet, like 15 or 20
refuse-empty-check = nothing is entered
write-anything-seen = enter at least one thing that you saw
refuse-reason-missing = the reason is missing
write-reason = write in a few words why

refuse-future = { $at } lies more than { $minutes } minutes ahead of the clock ({ $now })
write-past = write when it happened
refuse-unknown-session = there is no such session here
write-open-session = open the session first
refuse-session-closed = this session is closed
write-new-session = open a new session for a new irrigation
refuse-second-opening = this session is already open
write-details = write changes as details of the open session
refuse-unknown-line = no bag hangs on line { $line }
write-known-line = { $lines ->
    [none] hang a bag first
   *[some] write one of: { $names }
 }
refuse-bag-hangs = a bag hangs on line { $line }, so its level tells what ran in
write-level-instead = write what is left in the bag
refuse-unknown-grade = the ward’s scale has no colour “{ $grade }”
write-known-grade = write one of: { $names }
refuse-unknown-target = there is no entry { $target } on this chart
write-target = choose the entry on the chart
refuse-correction-of-correction = a correction is not corrected
write-correct-the-entry = correct the entry itself once more, or strike the correction out
refuse-struck-target = that entry is struck out and stays so
write-new-entry = write a new entry
refuse-unknown-finding = there is no such question on this chart
write-finding = choose the question on the chart
refuse-volume-missing = the volume that was not written down is missing
refuse-unknown-alert = there is no such alert at this bed
write-alert = choose an alert that stands
refuse-same-id = an entry with this id is already on the chart
write-once = an entry is written once
fault-saved-not-shown = Saved, but the figures of this bed could not be reckoned. Do not rely on them. Reference { $reference }.
fault-record = What the screen showed could not be written to the journal. Reference { $reference }.

expect-unreadable = can’t be read ({ $why })
expect-not-utf8 = is not UTF-8 text
expect-write = write [[session]] with file, expect and never; each expectation has condition, and if wanted priority, subject, from, to
expect-unknown-condition = there is no condition “{ $name }”
expect-known = write one of: { $names }
expect-expect-failed = { $file }: { $wanted } was not raised in its span. Raised in this session: { $times }
expect-never-failed = { $file }: { $wanted } was raised: { $times }
expect-not-at-all = not at all
