# Findings: what disagrees or is unlikely. Times come as text in the ward's zone, volumes in whole mL.
finding-level-rose = Bag on line { $line } went from { $from_ml } to { $to_ml } mL without a new bag. Was a bag hung and not written down, or was it misread?
finding-contents-fell = Drainage bag went from { $from_ml } to { $to_ml } mL without an emptying. Was it emptied and not written down? About how much?
finding-old-contents-not-known = A new drainage bag was put on, but not how much the old one held. About how much?
finding-contents-at-start-not-known = First reading of the drainage bag: { $ml } mL, but not what it held when the chart began. What did it hold?
finding-emptied-not-measured = The drainage bag was emptied and not measured. About how much?
finding-rest-not-measured = Bag on line { $line } was taken down and what was left in it was not measured. About how much was left?
finding-volume-not-measured = A volume that ran in was not measured. About how much?
finding-unlikely-emptying = The output of { $ml } mL is more than a drainage bag holds ({ $most_ml } mL is questioned). Please confirm or correct it.
finding-run-in-while-bag-hangs = A volume run in was charted while a bag hangs there. It is not added: the level of the bag tells it.
finding-ran-while-clamped = Line { $line } lost { $ml } mL while charted as clamped. It is counted as run in.
finding-above-bag = Bag on line { $line } read as { $ml } mL, but its label says { $label_ml } mL.
finding-above-capacity = Drainage bag read as { $ml } mL, but it is made for { $capacity_ml } mL.
finding-check-split = Readings of one check lie more than 10 minutes apart. They were split in two.
finding-recorded-before = Stored { $minutes } minutes before the time it is charted for.
finding-tare-not-known = Weighed, but the ward file has no empty weight for this size. Not counted as a reading.
finding-line-without-bag = Line { $line } was read, but no bag hangs there.
finding-grade-not-known = Colour “{ $grade }” is not on this ward’s scale.
finding-not-opened = Nobody opened this chart: patient and start are not known.
finding-volume-missing = { $ml } mL less came out than went in. If it was drained and not written down: about how much, and when?
finding-volume-extra = { $ml } mL more came out than went in and urine explain. Was a bag hung and not written down?

# Remarks: side notes on a row, nothing to answer.
remark-taken-down-as-dry = Old bag on line { $line } taken as run dry
remark-found-empty = Line { $line } found empty
remark-found-full = Drainage bag found full: more may have been held back
remark-cross-flow = { $ml } mL crossed over to line { $line }
remark-estimated = Level of the other bag estimated by its rate
remark-start-not-known = When this volume began to collect is not known
remark-questioned = { $finding ->
    [level_rose] A bag level rose without a new bag
    [contents_fell] The drainage contents fell without an emptying
    [old_contents_not_known] Old drainage bag not measured
    [contents_at_start_not_known] Drainage contents at the start not known
    [emptied_not_measured] Emptied and not measured
    [rest_not_measured] Rest of a bag not measured
    [volume_not_measured] Volume run in not measured
   *[other] Questioned, not answered
}
remark-open-bag-not-read = Not closed: bag on line { $line } not read
remark-open-drainage-not-read = Not closed: drainage bag not read
remark-nothing-charted = Nothing charted yet
remark-not-closed-yet = Not closed yet: no full check since
remark-counted-until = Counted until { $at }
remark-counted-from = Counted from { $at }
