# The command line: for a nurse’s IT colleague.

cli-about =
    Charts continuous bladder irrigation: what ran in, what drained, the balance with its doubt, and when to look.
    Without a command the ward’s own journal is opened in a window.

    An aid to charting and arithmetic. Not a medical device, not an alarm system, no replacement for looking at the patient.
cli-examples =
    examples:
      cbi-monitor                                    open the ward’s own journal
      cbi-monitor demo                               an invented ward that ends now
      cbi-monitor balance night.jsonl --by hour      the hourly balance of one session file
      cbi-monitor alerts *.jsonl --format json       which alerts these sessions raise, one JSON object a line
      cbi-monitor journal verify                     is the ward’s journal whole?

    SESSION is a session file (JSON Lines, one event a line). Instead of files, --journal FILE names a journal.
    “cbi-monitor COMMAND --help” tells more. Exit status: 0 done (findings are no failure), 1 something was
    refused or the disk failed (each named on stderr), 2 wrong use.
cli-commands = commands
cli-acts = what to do

cli-opt-ward = the ward file (zone, shifts, check plan, instruments); without it the shipped one
cli-opt-effluent = the ward’s effluent scale; without it the shipped one
cli-opt-thresholds = the ward’s threshold file; without it the shipped one, which is an example
cli-opt-journal-app = open this journal instead of the ward’s own
cli-opt-journal = take the sessions of this journal instead of session files; it is only read
cli-opt-own-journal = the journal (without it: the ward’s own, in the user’s data folder)
cli-opt-session = the session to take, where there are several
cli-opt-format = how to print (default: table)
cli-opt-by = a row a check, or prorated over clock hours, shifts or ward days (default: check)
cli-arg-session = a session file
cli-arg-sessions = session files
cli-opt-out = the folder to write into; it is made when it is not there
cli-opt-overwrite = replace files that are there already

cli-demo = open the demo ward: invented sessions, shifted so that they end now
cli-demo-about =
    Opens the demo ward: invented sessions, shifted in time so that they end now, in a temporary journal. Nothing that
    is charted there is kept. It cannot open the ward’s own journal.
    Without a display it draws the ward board and a bedside chart as pictures, writes the shift report as PDF, prints
    the balance, and names every file it wrote.
cli-demo-examples =
    examples:
      cbi-monitor demo
      cbi-monitor demo --render --out pictures
cli-opt-demo-out = where pictures and report go when there is no display (default: demo_output)
cli-opt-render = draw pictures and report even where there is a display

cli-balance = the balance of one session: in, out, net urine with its doubt, what stays behind
cli-balance-about =
    Prints the balance of one session. A row runs from one check with volumes to the next; --by hour, shift or day
    prorates rows over the ward’s clock, and says so. An unknown figure is “?” in the table and null in JSON, never 0.
cli-balance-examples =
    examples:
      cbi-monitor balance night.jsonl
      cbi-monitor balance night.jsonl --by shift --format csv > night.csv
      cbi-monitor balance --journal ward.db --session 0193… --by hour --format json

cli-alerts = replay sessions: which alerts these thresholds raise, and when
cli-alerts-about =
    Steps through each session as if it were then and prints every alert: raised, cleared, what was behind, what it
    says, what to do first. --as known (the default) lets each entry exist only from when it was typed, as the ward saw
    it; --as charted judges with hindsight by what is charted today. JSON is one object a line.
cli-alerts-examples =
    examples:
      cbi-monitor alerts night.jsonl
      cbi-monitor alerts *.jsonl --thresholds our-thresholds.toml --format json
      cbi-monitor alerts night.jsonl --until 2026-03-02T04:00+00:00 --tasks
cli-opt-as = entries exist from when they were known, or as charted today, with hindsight (default: known)
cli-opt-until = step to this time, with its offset (default: the last entry)
cli-opt-tasks = tell looks, checks and bag changes that came due, too

cli-backtest = how many alerts a threshold file would have raised over past sessions
cli-backtest-about =
    Replays sessions with a threshold file and counts alerts by condition and priority, per patient-day and nurse-hour,
    tasks apart: floods, chattering, long-standing alerts, and how many were answered with an act.
    --against FILE puts a second threshold file beside it.
cli-backtest-examples =
    examples:
      cbi-monitor backtest *.jsonl --thresholds our-thresholds.toml
      cbi-monitor backtest --journal ward.db --thresholds new.toml --against old.toml --format json
cli-opt-against = a second threshold file to compare with

cli-report = write the shift report and the tables of a session into a folder
cli-report-about =
    Writes the end-of-shift report (PDF) and tables (CSV, XLSX, FHIR). Without --shift or --from and --to: the shift of
    the last entry. Files are written whole or not at all and replace nothing unless --overwrite is given.
cli-report-examples =
    examples:
      cbi-monitor report night.jsonl --out papers
      cbi-monitor report night.jsonl --shift night --out papers --format pdf,csv,xlsx
      cbi-monitor report --journal ward.db --session 0193… --from 2026-03-01T19:00+00:00 --to 2026-03-02T07:00+00:00 --out papers
cli-opt-shift = the last shift of this name, as the ward file calls it
cli-opt-from = start, with its offset
cli-opt-to = end, with its offset
cli-opt-report-format = comma-separated: pdf, csv, xlsx, fhir (default: pdf,csv)

cli-thresholds = check, show, explain or test a threshold file
cli-thresholds-about = The threshold file holds every number that can raise an alert. The shipped one is an example: the ward’s responsible clinicians set their own.
cli-thresholds-examples =
    examples:
      cbi-monitor thresholds check our-thresholds.toml
      cbi-monitor thresholds explain retention
cli-thresholds-check = is there any fault in a threshold file?
cli-thresholds-check-about = Reads threshold files and names every fault with file, line and column, and what to write.
cli-thresholds-check-examples =
    example:
      cbi-monitor thresholds check our-thresholds.toml
cli-thresholds-show = what a threshold file changes against the shipped one
cli-thresholds-show-about = Prints the numbers of a threshold file that differ from the shipped ones (or all of them), with unit and source.
cli-thresholds-show-examples =
    examples:
      cbi-monitor thresholds show                          every shipped number
      cbi-monitor thresholds show our-thresholds.toml      what ours changes
cli-thresholds-explain = one condition in words, with the numbers in force
cli-thresholds-explain-about = Says in words when a condition raises an alert and when it clears, with the numbers in force, their units and sources. Without a name: the list of conditions.
cli-thresholds-explain-examples =
    example:
      cbi-monitor thresholds explain retention --thresholds our-thresholds.toml
cli-thresholds-test = do sessions raise the alerts that the ward expects?
cli-thresholds-test-about =
    Runs a small TOML file in which the ward names session files and the alerts it expects, each within a span of time.
    A difference is printed and makes the exit status 1.
cli-thresholds-test-examples =
    example:
      cbi-monitor thresholds test expectations.toml --thresholds our-thresholds.toml
cli-arg-thresholds = threshold file
cli-arg-thresholds-or-shipped = threshold file (without it: the shipped one)
cli-arg-condition = name of a condition, like retention
cli-arg-expectations = file of expected alerts
cli-opt-show-all = every number, not only what differs

cli-journal = verify, back up, restore, import or export a journal
cli-journal-about = The journal keeps every entry, chained by hashes, and never changes one. Without --journal the ward’s own is meant.
cli-journal-examples =
    examples:
      cbi-monitor journal verify
      cbi-monitor journal backup /media/backup/ward.db
cli-journal-verify = is the journal whole? recomputes every hash
cli-journal-verify-about = Recomputes every hash and says what does not agree. Write the heads down elsewhere: they prove later that nothing before them was changed.
cli-journal-verify-examples =
    example:
      cbi-monitor journal verify --journal ward.db
cli-journal-backup = write a copy of the journal, also while it is in use
cli-journal-backup-about = Writes a whole copy of the journal, also while it is in use, and verifies the copy.
cli-journal-backup-examples =
    example:
      cbi-monitor journal backup /media/backup/ward.db
cli-journal-restore = put a copy back where no journal is
cli-journal-restore-about = Verifies a copy and puts it where the journal belongs. Where a journal stands already it is refused: move that aside first, and keep it.
cli-journal-restore-examples =
    example:
      cbi-monitor journal restore /media/backup/ward.db
cli-journal-import = take session files, or another program’s chart by a map
cli-journal-import-about =
    Takes session files into the journal; what stands there already is passed over, so importing twice adds nothing.
    With --map: takes a chart of another program (CSV), by a map that names its columns and says which item becomes
    which event. All files are taken or none; every fault is named with file and line.
cli-journal-import-examples =
    examples:
      cbi-monitor journal import night.jsonl --journal ward.db
      cbi-monitor journal import chartevents.csv --map icu.toml --sessions stays.csv --journal ward.db
cli-journal-export = write the journal as a session file
cli-journal-export-about = Writes all entries, or one session’s, as a session file: canonical lines in a fixed order.
cli-journal-export-examples =
    example:
      cbi-monitor journal export night.jsonl --session 0193… --journal ward.db
cli-journal-schema = print the JSON Schema of session files
cli-journal-schema-about = Prints the JSON Schema (2020-12) of one line of a session file, for programs that write them.
cli-journal-schema-examples =
    example:
      cbi-monitor journal schema > session.schema.json
cli-arg-copy = where the copy goes
cli-arg-copy-back = the copy to put back
cli-arg-import = session files, or charts with --map
cli-opt-map = map of another program’s chart
cli-opt-sessions = table of sessions (weight, sex, times) that the map speaks of
cli-arg-export = the session file to write

cli-several-sessions = { $where } holds several sessions: { $names }; choose one with --session ID
cli-no-such-session = no session { $session } in { $where }; look at the ids with “cbi-monitor journal export”
cli-file-and-journal = session files and --journal exclude each other; name one of them
cli-no-source = no session named; write a session file, or --journal FILE
cli-progress-sessions = sessions

cli-balance-from = from
cli-balance-to = to
cli-balance-in = in
cli-balance-drained = drained
cli-balance-washed = washed in/back
cli-balance-other-out = leaked, other
cli-balance-net = net urine
cli-balance-range = between
cli-balance-running = running
cli-balance-behind = behind by
cli-balance-hold = may hold
cli-balance-remarks = remarks
cli-balance-empty = No row yet: a row needs two checks at which every vessel in use is known.
cli-balance-units = Volumes in mL. “between”: about 95 %, bag overfill included. “behind by”: more in than out since the balance stood highest. “?”: not known.
cli-range = { $low } to { $high }
cli-state-open = open
cli-state-questioned = questioned
cli-prorated = prorated
cli-findings = Findings ({ $count }); “?” waits for an answer:

cli-alerts-head = { $session } ({ $file }): alerts as known at the time
cli-alerts-head-hindsight = { $session } ({ $file }): alerts with hindsight, by what is charted today
cli-alerts-none = No alert was raised. That does not say that all was well.
cli-alerts-raised = raised
cli-alerts-cleared = cleared
cli-alerts-priority = priority
cli-alerts-condition = condition
cli-alerts-subject = subject
cli-alerts-says = says, and do first
cli-tasks-due = due
cli-tasks-done = done
cli-tasks-kind = task
cli-tasks-subject = of

cli-thresholds-passed = { $file }: no fault
cli-thresholds-same = { $file }: every number is the shipped one
cli-thresholds-name = number
cli-thresholds-here = here
cli-thresholds-shipped = shipped
cli-thresholds-unit = unit
cli-thresholds-source = source
cli-thresholds-was = { "  " }(shipped: { $shipped })
cli-condition = condition
cli-meaning = meaning
cli-source = Source: { $source }
cli-source-ward = the ward
cli-no-such-condition = no condition { $name }; known are: { $known }.
cli-did-you-mean = { " " }Did you mean { $name }?

cli-verified = { $file }: { $entries } entries, { $sessions } sessions
cli-head = head of { $workstation }: { $head }
cli-whole = Whole: every hash was recomputed and agrees.
cli-not-whole = NOT WHOLE: { $count } things do not agree. Keep the file; restore the last backup beside it.
cli-backed-up = { $entries } entries copied to { $file }
cli-restored = { $entries } entries put back as { $file }
cli-progress-pages = pages
cli-sessions-without-map = --sessions goes with --map; write both
cli-imported = { $file }: { $added } entries taken, { $already } stood there already, { $sessions } sessions:
cli-there-already = { $file } is there already; choose another name, or add --overwrite
cli-exported = { $entries } entries written to { $file }
cli-progress-files = files
cli-expectations = { $checked } expectations looked at; { $differences ->
        [0] all hold
        [one] one does not hold
       *[other] { $differences } do not hold
    }

cli-opt-no-names = without names: other references, beds and staff ids, the same throughout
cli-unknown-format = no such format: { $names }; write some of { $known }, with commas between
cli-shift-or-times = --shift and --from, --to exclude each other; write one of them
cli-from-and-to = --from and --to go together; write both
cli-to-after-from = --to must be later than --from
cli-no-such-shift = the ward has no shift { $name }; it has { $known }
cli-shift-empty = nothing is charted in a shift { $name } of session { $session }

cli-opt-beds = beds that one nurse has, for the load per nurse (default: 4; common practice, no source)
cli-opt-picture = draw the alerts by condition into this file
cli-not-positive = “{ $given }” is not a number above 0
cli-shipped-thresholds = shipped
cli-load-sessions = sessions
cli-load-patient-days = patient-days
cli-load-alerts = alerts (those that another one spoke for left out)
cli-load-per-patient-day = alerts per patient-day
cli-load-per-nurse-hour = calls per nurse-hour
cli-load-per-10-min = calls in 10 minutes per nurse of { $beds } beds
cli-load-high = high
cli-load-medium = medium
cli-load-low = low
cli-load-acted = answered with an act
cli-load-standing = standing over 24 h
cli-load-floods = floods (more than 10 in 10 minutes)
cli-load-chattering = chattering
cli-load-aim = aim (EEMUA 191, ISA-18.2)
cli-load-aim-10-min = about { $most }
cli-load-aim-share = about { $share } %
cli-load-aim-standing = fewer than { $most }
cli-load-aim-none = none
cli-load-per-day = a patient-day
cli-load-task = tasks that came due
cli-load-overdue = overdue
cli-picture-title = Alerts per patient-day, by condition and priority
cli-picture-bars = bars from above: { $names }
cli-demo-balance = Bed { $bed } ({ $reference }), invented:
cli-demo-written = Written:
cli-not-written = the picture could not be written
app-no-display = cbi-monitor: there is no display to open a window on. “cbi-monitor demo” writes pictures and a report instead; “cbi-monitor --help” lists what works without a window.
cli-spoken-for = Listed under, while they stand: { $names }.
