# What an alert says: a title for the board, what was seen (as of when, how sure), and the first act.
# Facts: times as the ward's clock shows them, mL and mL/h whole, yes and no, "unknown" where a figure is not known.
# A computed suspicion sends somebody to the bed; only something observed begins with “Stop the inflow.”

## The first act

first-act-go-now = Go to the bed now. Not dripping steadily, sore, or bladder up: stop the inflow.
first-act-stop-inflow = Stop the inflow. Then look at the patient: pain, abdomen, obs.
first-act-keep-off = Keep the inflow off. Look at the patient: pain, abdomen, obs. Go through the not-draining list.
first-act-clamped = Stop the inflow. Then open the drainage clamp and look at the patient.
first-act-treat-as-blocked = Go to the bed now. Treat as blocked until seen draining: stop the inflow, look at the patient.
first-act-look-by-passing = Look at the drip and the tubing, feel the abdomen, change the pad and note its size.
first-act-call-urology = Call urology. Until they come: inflow off unless it is seen running freely, obs, pain, abdomen.
first-act-look-again = Look again soon: drip, colour, clots, abdomen. One more or a failed one: call urology.
first-act-clot-at-catheter = Look for a clot at the catheter: drip, clots, abdomen. Tell the doctor that it comes and goes.
first-act-look = Look at the drip now, and ask about comfort.
first-act-check = Do the check now: running, comfort, colour, clots.
first-act-traction = Ask the prescriber whether the traction comes off. Look at the skin and the meatus.
first-act-ring-where = Ring where the patient is. Ask: is it dripping, is the patient comfortable, how much is left in the bag?
first-act-distress = Go to the bed now. Check that it is draining before sedation or painkiller. Not dripping steadily or bladder up: stop the inflow.
first-act-distress-seen = Go and ask again. Look at the drip and feel the abdomen before sedation or painkiller.
first-act-absorption = Look at the patient, take obs, ask for a sodium, and tell the doctor.
first-act-absorption-signs = Fluid has gone somewhere other than the bag: stop the inflow, take obs, call now, send a sodium.
first-act-blood-loss = Take obs, look at the colour at its rate, and tell the doctor the figures with their times.
first-act-check-bag-and-clamp = Check bag and clamp first: is the irrigation running as set? Then look at the colour again.
first-act-darker = Look at the drip, clots and the patient. Raise the rate only as far as the order allows.
first-act-bleeding = Look at the patient, take obs, and call the doctor: colour, rate, clots, how long.
first-act-bleeding-rate = Look at the drip. Running steadily: bring the rate up to the order. Take obs and call the doctor.
first-act-clots = Look at the drip and feel the abdomen. Look again in 10 minutes.
first-act-clots-slower = Go to the bed now. Not dripping steadily, sore, or bladder up: stop the inflow. A washout only if the order allows.
first-act-hang-bag = Bring and hang the next bag before this one is dry.
first-act-bag-dry = Go and look: hang a new bag, then look at the drip within { $look_within } minutes.
first-act-empty = Empty the drainage bag.
first-act-empty-now = Go now: a full bag is a block. Empty the drainage bag, then look at the drip.
first-act-inflow-off-coloured = Go to the bed. Was it stopped on purpose? Restart only when it runs freely; else call.
first-act-inflow-off = Was it stopped on purpose? Chart why, or restart and look at the drip.
first-act-low-urine = Check that it is draining, feel or scan the bladder, look for a leak or an emptying not written down. Then tell the doctor.
first-act-high-urine = Check the figures (a bag or emptying twice?). Then obs, and tell the doctor.
first-act-ask-volume = Look at the drip and feel the abdomen first. Then ask: was a volume not written down?
first-act-wrong-fluid = Stop this line. Check bag and order with a second person; hang what is ordered.
first-act-catheter-out = Stop the inflow. Press and look for bleeding. No new catheter without urology’s word.
first-act-catheter-allergy = Look at the patient for a reaction, and ask the doctor now about another catheter.
first-act-catheter-ways = Check the catheter: irrigation needs three ways. Ask the doctor.
first-act-catheter-gauge = A small catheter with clots: look at the drip more often, and tell the doctor.

## Retention

alert-retention-title = Not keeping up
alert-retention-says =
    { $behind_ml } mL (± { $doubt_ml }) more in than out since { $since }, as of { $as_of }. Bladder may hold { $may_ml } mL ({ $may_low_ml } to { $may_high_ml }).{ $signs ->
        [0] {""}
       *[other] {" "}Also charted:{ $sign_pain ->
            [yes] {" "}pain;
           *[no] {""}
        }{ $sign_spasm ->
            [yes] {" "}spasm;
           *[no] {""}
        }{ $sign_restless ->
            [yes] {" "}restless or pulling;
           *[no] {""}
        }{ $sign_abdomen ->
            [yes] {" "}abdomen full or hard;
           *[no] {""}
        }{ $sign_outflow ->
            [yes] {" "}drip not steady;
           *[no] {""}
        }
    }
alert-retention-says-no-volume = { $behind_ml } mL (± { $doubt_ml }) more in than out since { $since }, as of { $as_of }. What the bladder may hold can’t be told.
alert-retention-says-unknown = The balance can’t be told since the last question on the chart. What was behind before still counts.
alert-retention-cleared = was { $behind_ml } behind, caught up { $at }

## Outflow seen, or missed in the volumes

alert-no-outflow-title = Not running
alert-no-outflow-says-seen = Seen not running { $seen_at } with the inflow open.
alert-no-outflow-says-seen-off = Seen not running { $seen_at }. The inflow is charted as off.
alert-no-outflow-says-not-steady = Seen running { $seen_at }, but not steadily.
alert-no-outflow-says-short = { $out_ml } mL came out of { $in_ml } mL that ran in between { $start } and { $end }: { $short_ml } mL short, more than the readings’ doubt.
alert-no-outflow-says-behind = Still { $behind_ml } mL more in than out since { $since }. A look alone does not make up for it.
alert-no-outflow-cleared = not running before, seen running steadily { $at }
alert-drainage-clamped-running-title = Drainage clamped, inflow open
alert-drainage-clamped-running-says = The drainage side is charted as clamped since { $since } while the inflow is open.
alert-leakage-title = By-passing
alert-leakage-says = By-passing charted { $last_at }.
alert-leakage-says-again = By-passing charted { $times } times, last { $last_at }.
alert-leakage-says-falling = By-passing charted { $last_at }, and less is coming out.
alert-bladder-scan-title = Scan shows volume
alert-bladder-scan-says = Bladder scan { $scan_ml } mL at { $at }. Clot may not show on a scan.
alert-repeated-washouts-title = Washouts again
alert-repeated-washouts-says = { $times } washouts since { $since }, last { $last_at }; { $failed ->
        [0] none failed
       *[other] { $failed } failed
    }.
alert-comes-and-goes-title = Comes and goes
alert-comes-and-goes-says = Trouble with the outflow came and went { $times } times since { $since }, last { $last_at }. Clot at the catheter?

## Overdue

alert-look-due-title = Look overdue
alert-look-due-says = No look at the drip since { $last_at }; one was asked for by { $due }. A full block could reach the limit of { $limit_ml } mL at { $reaches_limit_at }.
alert-look-due-says-no-time = No look at the drip since { $last_at }; one was asked for by { $due }.
alert-check-due-title = Check overdue
alert-check-due-says = No check since { $last_at }; it was due { $due }.
alert-check-due-says-volumes = No check since { $last_at }; it was due { $due }, with volumes.
alert-traction-overdue-title = Traction past its time
alert-traction-overdue-says = Traction charted as on since { $on_since }; it was to come off { $due }.
alert-away-overdue-title = Not back yet
alert-away-overdue-says = Away ({ $where }) since { $left_at }, inflow off; expected back { $due }.
alert-away-overdue-says-running = Away ({ $where }) since { $left_at } with the inflow running; expected back { $due }.

## The patient

alert-distress-title = In distress
alert-distress-says =
    As of { $as_of }: { $pain ->
        [-1] pain not asked
       *[other] pain { $pain }
    }{ $spasm ->
        [yes] , spasm
       *[no] {""}
    }{ $restless ->
        [yes] , restless or pulling
       *[no] {""}
    }{ $abdomen ->
        [full] , abdomen full
        [hard] , abdomen hard
        [soft] , abdomen soft
       *[none] {""}
    }. { $seen_steady ->
        [yes] Dripping steadily when looked at afterwards.
       *[no] No steady drip was seen since.
    }
alert-distress-says-cannot-say =
    As of { $as_of }: the patient can’t say or feel pain, so the pain score tells nothing{ $spasm ->
        [yes] ; spasm
       *[no] {""}
    }{ $restless ->
        [yes] ; restless or pulling
       *[no] {""}
    }{ $abdomen ->
        [full] ; abdomen full
        [hard] ; abdomen hard
        [soft] ; abdomen soft
       *[none] {""}
    }. { $seen_steady ->
        [yes] Dripping steadily when looked at afterwards.
       *[no] No steady drip was seen since.
    }
alert-absorption-title = Fluid not in bag or bladder
alert-absorption-says = { $behind_ml } mL (± { $doubt_ml }) more in than out since { $since }, as of { $as_of }, with a steady drip and no full bladder found.{ $electrolyte_free ->
        [yes] {" "}The fluid holds no salts.
       *[no] {""}
    }
alert-absorption-says-signs = { $behind_ml } mL (± { $doubt_ml }) more in than out since { $since }, as of { $as_of }, with { $signs ->
        [one] a sign
       *[other] { $signs } signs
    } of absorbed fluid on the chart.{ $electrolyte_free ->
        [yes] {" "}The fluid holds no salts.
       *[no] {""}
    }
alert-absorption-says-unknown = The balance can’t be told since the last question on the chart.
alert-blood-loss-title = Haemoglobin low or falling
alert-blood-loss-says = Haemoglobin { $hb } g/L at { $at }, { $baseline } before: { $fell } lower.

## Colour and clots

alert-colour-deepening-title = Darker
alert-colour-deepening-says = { $grade } at { $at } ({ $rate } mL/h), { $from_grade } at { $from_at } ({ $rate_before } mL/h).
alert-colour-deepening-says-slowed = Darker, and the inflow has slowed: { $grade } at { $at } ({ $rate } mL/h), { $from_grade } at { $from_at } ({ $rate_before } mL/h).
alert-colour-deepening-says-more = Darker although more runs in: { $grade } at { $at } ({ $rate } mL/h), { $from_grade } at { $from_at } ({ $rate_before } mL/h).
alert-colour-deepening-says-no-rate = { $grade } at { $at }, { $from_grade } at { $from_at }; the rates are not known.
alert-bleeding-on-title = Bleeding on
alert-bleeding-on-says = { $grade } at { $at }, red since { $red_since }, at about { $rate } mL/h.
alert-bleeding-on-says-below-order = { $grade } at { $at }, red since { $red_since }, at about { $rate } mL/h; { $rate_low } is ordered.
alert-bleeding-on-says-darkest = { $grade } since { $since }, last seen { $at }, at about { $rate } mL/h.
alert-bleeding-on-says-vitals =
    { $grade } at { $at } with{ $systolic ->
        [unknown] {""}
       *[other] {" "}systolic { $systolic }
    }{ $pulse ->
        [unknown] {""}
       *[other] {" "}pulse { $pulse }
    } at { $vitals_at }.
alert-bleeding-on-says-lighter = Red was last seen { $at }.
alert-clots-title = Clots
alert-clots-says = Clots ({ $size }) at { $at }.
alert-clots-says-again = Large clots charted { $times } times, last { $at }.
alert-clots-says-slower = Clots ({ $size }) at { $at }, and less is coming out.
alert-clots-says-after-washout = Clots ({ $size }) at { $at }, after the washout.

## Bags and clamps

alert-bag-running-out-title = Bag nearly empty
alert-bag-running-out-says = The last open bag (line { $line }) may be dry at { $dry_at } ({ $dry_early } to { $dry_late }).
alert-bag-dry-title = Bag dry
alert-bag-dry-says = The last open bag (line { $line }) may be dry since { $dry_at }; no new bag is charted.
alert-bag-dry-says-surely = The last open bag (line { $line }) is dry since { $dry_at } by the last reading; no new bag is charted.
alert-bag-dry-says-found = Line { $line } was found dry at { $dry_at }; no new bag is charted.
alert-drainage-filling-title = Drainage bag filling
alert-drainage-filling-says = The drainage bag may be full at { $full_at } ({ $full_early } to { $full_late }), by the reading of { $read_at }.
alert-drainage-filling-says-still = The drainage bag was hardly emptied by the reading of { $read_at }.
alert-drainage-filling-says-full = The drainage bag may be full since { $full_at }, by the reading of { $read_at }. Full is blocked.
alert-drainage-filling-says-found = The drainage bag was found full at { $read_at }. Full is blocked.
alert-inflow-off-title = Inflow off
alert-inflow-off-says = Inflow off since { $off_since }; drainage { $grade } at { $graded_at }.
alert-inflow-off-says-no-colour = Inflow off since { $off_since }; no drainage colour charted.
alert-wrong-fluid-title = Check the fluid
alert-wrong-fluid-says = Line { $line } holds { $fluid } since { $hung_at }; ordered is { $ordered }.
alert-wrong-fluid-says-no-order = Line { $line } holds { $fluid } since { $hung_at }, without an order that names it.

## Urine and the balance

alert-low-urine-title = Little urine
alert-low-urine-says = Urine { $per_kg_low } to { $per_kg_high } mL/kg/h from { $start } to { $end }, all of it below { $limit }.
alert-low-urine-says-unknown = Urine is not known: see behind.
alert-high-urine-title = Much urine
alert-high-urine-says = Urine { $rate_low } to { $rate_high } mL/h from { $start } to { $end }.
alert-high-urine-says-asked = A question about the volumes is open; urine is not known.
alert-unrecorded-volume-title = Volume not written down?
alert-unrecorded-volume-says-missing = About { $ml } mL (± { $doubt_ml }) of drainage is missing, most of it between { $start } and { $end }. An emptying not written down? Until that is answered it counts as behind.
alert-unrecorded-volume-says-extra = About { $ml } mL (± { $doubt_ml }) more came out between { $start } and { $end } than ran in and urine can explain. A bag or a washout not written down, or an emptying twice?
alert-unrecorded-volume-says-finding = The readings of { $at } disagree; the balance waits for an answer.
alert-unrecorded-volume-says-unknown = The balance can’t be told since the last question on the chart.

## The catheter

alert-catheter-out-title = Catheter out
alert-catheter-out-says = The catheter came out at { $at } ({ $reason ->
        [pulled_out] pulled out
        [fell_out] fell out
        [blocked] blocked
       *[other] unplanned
    }){ $inflow_on ->
        [yes] ; the inflow is charted as open
       *[no] {""}
    }.
alert-catheter-mismatch-title = Check the catheter
alert-catheter-mismatch-says-allergy = { $material } catheter placed { $placed_at }; a matching allergy is charted.
alert-catheter-mismatch-says-ways = { $ways }-way catheter placed { $placed_at } with irrigation running.
alert-catheter-mismatch-says-gauge = { $french } Ch (Fr) catheter placed { $placed_at }, with clots.

## Beside an alert

alert-set-for-patient = Limit set for this patient by { $by_whom }, { $at }.
alert-cleared = { $title }: cleared { $at }
alert-going = { $who } is going, { $at }
alert-seen = seen { $at }, { $who }
alert-came-back = back since { $at }: nothing was charted
alert-spoken-by = listed under “{ $title }”
alert-worse = worse since { $at }
alert-with-hindsight = with hindsight: judged by what is charted today, not by what was known then
alert-computed-later = computed later; not shown at the time

## Tasks (marks on the lane)

task-look = look at the drip by { $due }
task-look-possible = look at the drip by { $due }; the limit may be reached since { $possible_since }
task-check = check { $due }
task-check-volumes = check { $due }, with volumes
task-line-dry = line { $subject } dry { $due }
task-drainage-full = empty the drainage bag by { $due }
task-traction = traction off { $due }
task-back = back { $due }

## What a condition is, with the numbers in force

explain-retention = More ran in than came out since the balance last stood highest. Medium from { $medium_behind_ml } mL behind, high from { $high_behind_ml } mL, and only when the deficit is at least { $needs_u } times its own standard uncertainty. High from { $high_with_signs_behind_ml } mL with pain from { $pain_from_points }, spasm, restlessness, a full abdomen, or a drip that is not steady; a sign counts for { $signs_count_for_minutes } minutes. Clears below { $clears_below_behind_ml } mL, and only with a steady look since.
explain-no-outflow = Seen not running with the inflow open: high at once; with the inflow off: medium. Or a row of at least { $volume_needs_minutes } minutes drained less than ran in and { $least_urine_ml_per_h } mL/h of urine, by more than { $volume_needs_u } standard uncertainties: by the same amounts as “not keeping up”. Only a steady look clears what was seen.
explain-look-due = A look at the drip was asked for and nobody has charted one. Low when late by { $close_grace_minutes } minutes (intervals up to { $close_plan_up_to_minutes }), { $middle_grace_minutes } (up to { $middle_plan_up_to_minutes }) or { $wide_grace_minutes } (wider). Medium when late by { $medium_after_graces_count } times that with an inflow from { $medium_from_inflow_ml_per_h } mL/h, red drainage, or within the first { $medium_in_first_minutes } minutes. After a restart looks are asked for at { $after_restart_first_minutes } and { $after_restart_second_minutes } minutes.
explain-check-due = A check was due and is not charted. Low when late by { $close_grace_minutes } minutes (intervals up to { $close_plan_up_to_minutes }), { $middle_grace_minutes } (up to { $middle_plan_up_to_minutes }) or { $wide_grace_minutes } (wider). Medium when late by { $medium_after_graces_count } times that with an inflow from { $medium_from_inflow_ml_per_h } mL/h, red drainage, or within the first { $medium_in_first_minutes } minutes.
explain-distress = High from pain { $high_pain_points }, with a full or hard abdomen, or with new restlessness or pulling (it counts as pain { $restless_counts_as_points }; new is: none charted in the { $restless_new_after_minutes } minutes before), even without a deficit, unless a steady drip was seen afterwards. Medium from pain { $medium_pain_points } or with spasm. Clears below pain { $clears_below_pain_points }. A patient who can’t say, or who is numb, is not reassured by pain 0.
explain-leakage = Any by-passing: medium. High when charted { $high_again_count } times within { $high_again_within_minutes } minutes, or with outflow fallen by { $falling_outflow_part } of what it was. Clears when a later visit saw a steady drip and none was charted for { $clears_after_minutes } minutes.
explain-bladder-scan = A scan from { $medium_ml } mL while the irrigation runs: medium; from { $high_ml } mL, or from the patient’s limit where that is lower: high. Clears when a later scan shows less than { $clears_below_ml } mL.
explain-repeated-washouts = { $medium_count } washouts within { $medium_within_hours } hours: medium. { $high_count } within { $high_within_hours } hours, or { $high_failed_count } failed ones: high. A washout has failed when less than { $failed_below_returned_part } of it came back, when it went in but not back, or when nothing drains after it.
explain-comes-and-goes = { $cleared_highs_count } high alerts of outflow that cleared within { $within_hours } hours: medium.
explain-colour-deepening = { $medium_steps ->
        [one] One step
       *[other] { $medium_steps } steps
    } darker than within the last { $look_back_hours } hours: medium; { $high_steps } steps, or the darkest: high. Where the inflow fell by { $inflow_fell_part } of what it was, it says so first: check bag and clamp. Rates that differ by less than { $like_rate_part } are alike.
explain-bleeding-on = The darkest colour for { $high_darkest_minutes } minutes: high. Red for { $medium_red_minutes } minutes: medium. Red with a systolic pressure below { $systolic_below_mmhg } (until { $systolic_clears_from_mmhg }) or a pulse above { $pulse_above_per_min }: high; a vital sign counts for { $vitals_count_for_minutes } minutes.
explain-clots = Large clots: medium; { $high_large_count } times within { $high_large_within_hours } hours, or any clots with outflow fallen by { $slower_outflow_part } of what it was: high. Small ones within { $medium_after_washout_hours } hours of a washout: medium; new after { $new_after_none_hours } hours without: low. Clears when none were charted for { $clears_after_none_minutes } minutes.
explain-bag-running-out = The last open bag may run dry within { $medium_minutes } minutes: medium. With a full bag beside it: a task only. Clears when it lasts longer than { $clears_above_minutes } minutes.
explain-bag-dry = Every open bag is dry. Found so: high when pink or darker, else medium. By the sum: medium, and high when pink or darker once even the latest forecast has passed. A look is due within { $look_within_minutes } minutes.
explain-drainage-filling = From { $task_from_part } of its capacity: a task (until below { $clears_below_part }). Full within { $medium_minutes } minutes: medium, until it lasts longer than { $clears_above_minutes }. Full, from { $full_from_part } of its capacity: high, because full is blocked.
explain-inflow-off = The irrigation is off outside an ordered trial. Red or darker: medium after { $red_medium_minutes } minutes, high after { $red_high_minutes }. Pink: { $pink_medium_minutes } and { $pink_high_minutes }. Paler: low after { $clear_low_minutes }.
explain-low-urine = Urine wholly below { $medium_below_ml_per_kg_per_h } mL/kg/h over { $medium_over_hours } hours with nothing open: medium; below { $high_below_ml_per_kg_per_h } over { $high_over_hours } hours: high. Clears when the high end reaches { $clears_from_ml_per_kg_per_h }. Off where an order expects none.
explain-high-urine = Urine surely above { $medium_from_ml_per_h } mL/h over { $over_hours } hours: medium; not within { $not_after_relief_hours } hours after a catheter was placed or a block came free. Clears below { $clears_below_ml_per_h } mL/h.
explain-unrecorded-volume = A volume seems to be missing or extra, from { $low_from_ml } mL and { $needs_u } times its own standard uncertainty: low, a question with time and size. It never stands instead of “not keeping up”. Clears below { $clears_below_ml } mL or when answered.
explain-absorption = { $medium_from_ml } mL more in than out, at least { $needs_u } times its own standard uncertainty, with a scan below { $scan_below_ml } mL (not older than { $scan_counts_for_minutes } minutes) or a soft abdomen, and a steady drip: medium. With confusion, nausea, breathlessness, a hard abdomen, shoulder-tip pain, systolic below { $systolic_below_mmhg }, pulse below { $pulse_below_per_min } (not older than { $vitals_count_for_minutes } minutes), sodium below { $sodium_below_mmol_per_l } or fallen by { $sodium_fell_mmol_per_l }: high. Fluids without salts: { $electrolyte_free_part } of these volumes. Clears below { $clears_below_ml } mL.
explain-blood-loss = Haemoglobin fallen by { $medium_fell_g_per_l } g/L: medium; by { $high_fell_g_per_l }, or below { $high_below_g_per_l }: high. Charted values only.
explain-wrong-fluid = A bag of another fluid than ordered; without an order that names one, anything but { $right_without_order }: high.
explain-drainage-clamped-running = The drainage side is clamped while the inflow is open: high after { $high_after_minutes } minutes.
explain-catheter-out = The catheter came out unplanned ({ $unplanned_reasons }): high, until a new one is in or somebody was reached and the inflow is off.
explain-catheter-mismatch = A charted allergy and the material share a word ({ $allergen_words }): high. Two ways with irrigation: medium. Under { $low_below_french } Ch (Fr) with clots: low. Said once, at set-up and change.
explain-traction-overdue = Traction still on { $medium_late_minutes } minutes after its time: medium.
explain-away-overdue = Not back { $low_late_minutes } minutes after the expected time: low.
explain-life = “Going” keeps an alert quiet for { $going_quiet_minutes } minutes; it comes back if nothing was charted at that bed. “Seen” needs a look or an act and keeps it quiet for { $seen_quiet_minutes } minutes; it comes back if nothing changed. Neither clears it. A cleared high stays on the lane for { $cleared_high_stays_minutes } minutes, or until seen.
