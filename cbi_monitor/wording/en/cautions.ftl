# The usual cautions (shown in the README, on the first screen, on every report). Never soften them.
caution-aid = An aid to charting and arithmetic. Not a medical device, not an alarm system, no replacement for looking at the patient; it does not diagnose or prescribe.
caution-quiet = It warns only while it is open and someone looks: a quiet screen is not a draining catheter.
caution-thresholds = Shipped thresholds are examples: the ward’s responsible clinicians set their own; local policy and the prescriber’s order stand above anything shown.
caution-stop = If a patient is in pain or not draining: stop the inflow and follow the local escalation.
caution-short = An aid to charting, not an alarm system. A quiet screen is not a draining catheter.
