# Why an entry, a line or a file was not taken: what is wrong, and what to write instead.

# One line of a session file
refusal-journal-no-file-what = there is no such file
refusal-journal-no-file-write = give the path of a session file
refusal-journal-folder-what = this is a folder, not a file
refusal-journal-folder-write = give the path of a session file in it
refusal-journal-unreadable-what = the file can’t be read ({ $why })
refusal-journal-unreadable-write = see that it is a file that you may read
refusal-journal-empty-file-what = the file holds no entry
refusal-journal-empty-file-write = write one event a line, like {"{"}"event":"note","session":"bed-4","at":"2026-03-01T07:00:00+00:00","text":"…"{"}"}
refusal-journal-not-utf8-file-what = the file is not text in UTF-8 (so the bytes at offset { $offset } say)
refusal-journal-not-utf8-file-write = save it as UTF-8, one event a line
refusal-journal-not-utf8-what = byte { $byte } at offset { $offset } of the file is no UTF-8
refusal-journal-not-utf8-write = save the file as UTF-8
refusal-journal-cut-short-what = the last line breaks off in the middle of an entry; the file seems cut short
refusal-journal-cut-short-write = copy the file again from where it came, whole
refusal-journal-not-json-what = this is not JSON from here on: { $near }
refusal-journal-not-json-write = write one JSON object on the line: names and texts in double quotes, commas between, none after the last
refusal-journal-field-twice-what = { $name } is given twice in one entry
refusal-journal-field-twice-write = keep one of them
refusal-journal-no-number-what = { $given } is no number that a chart can hold
refusal-journal-no-number-write = write the figure, or leave the field out where it is not known
refusal-journal-too-deep-what = lists or objects are nested too deeply
refusal-journal-too-deep-write = write the entry as one flat JSON object
refusal-journal-not-an-entry-what = { $given } is not an entry
refusal-journal-not-an-entry-write = write one JSON object a line, in curly brackets

# One entry
refusal-journal-no-kind-what = the entry does not say what kind of event it is
refusal-journal-no-kind-write = add "event" with the kind, like "event":"bag_read"
refusal-journal-kind-not-text-what = { $given } is no kind of event
refusal-journal-kind-not-text-write = write the kind as text, like "event":"bag_read"
refusal-journal-unknown-kind-near-what = there is no event { $given }
refusal-journal-unknown-kind-near-write = did you mean { $near }?
refusal-journal-unknown-kind-what = there is no event { $given }
refusal-journal-unknown-kind-write = write one of { $kinds }
refusal-journal-unknown-field-near-what = { $event } has no field { $given }
refusal-journal-unknown-field-near-write = did you mean { $near }?
refusal-journal-unknown-field-what = { $event } has no field { $given }
refusal-journal-unknown-field-write = leave it out, or write one of { $known }
refusal-journal-volume-twice-what = volume and volume_ml are the same field, given twice
refusal-journal-volume-twice-write = keep volume
refusal-journal-missing-what = { $event } needs { $name }
refusal-journal-missing-write = add "{ $name }"
refusal-journal-unknown-word-near-what = { $given } is none of the words that can stand here
refusal-journal-unknown-word-near-write = did you mean { $near }? One of { $words }
refusal-journal-unknown-word-what = { $given } is none of the words that can stand here
refusal-journal-unknown-word-write = write one of { $words }
refusal-journal-several-ways-what = { $given } can’t stand here
refusal-journal-several-ways-write = write { $ways }
refusal-journal-not-text-what = { $given } is no text
refusal-journal-not-text-write = write text in double quotes
refusal-journal-empty-text-what = the text is empty
refusal-journal-empty-text-write = write at least one character, or leave the field out where it is optional
refusal-journal-long-text-what = the text is longer than { $limit } characters
refusal-journal-long-text-write = make it shorter; more may go into an entry of its own
refusal-journal-not-number-what = { $given } is no number
refusal-journal-not-number-write = write the figure alone, without quotes or unit, like 850
refusal-journal-not-whole-what = { $given } is no whole number
refusal-journal-not-whole-write = write a whole number, like 3
refusal-journal-not-yes-no-what = { $given } is neither true nor false
refusal-journal-not-yes-no-write = write true or false, without quotes
refusal-journal-too-small-what = { $given } is below { $limit }
refusal-journal-too-small-write = write { $limit } or more
refusal-journal-not-above-what = { $given } is not above { $limit }
refusal-journal-not-above-write = write a figure above { $limit }
refusal-journal-too-large-what = { $given } is above { $limit }
refusal-journal-too-large-write = write { $limit } or less
refusal-journal-not-list-what = { $given } is no list of texts
refusal-journal-not-list-write = write a list like ["latex"], or one text
refusal-journal-not-fields-what = { $given } is no set of named values
refusal-journal-not-fields-write = write names and values in curly brackets
refusal-journal-naive-time-what = { $given } does not say its offset from UTC
refusal-journal-naive-time-write = write it with its offset, like { $like }
refusal-journal-not-a-time-what = { $given } is no date and time
refusal-journal-not-a-time-write = write it like 2026-03-01T07:00:00+00:00
refusal-journal-year-what = { $given } lies outside the years 1000 to 8999
refusal-journal-year-write = check the year
refusal-journal-excluding-what = { $first } and { $second } exclude each other
refusal-journal-excluding-write = keep one of them
refusal-journal-together-what = { $first } goes with { $second }, and only one of them is given
refusal-journal-together-write = write both or neither
refusal-journal-no-measure-what = no volume is given
refusal-journal-no-measure-write = write { $wanted }; where it was not measured, write "not_measured":true
refusal-journal-no-rate-what = no rate is given
refusal-journal-no-rate-write = write one of ml_per_h, drops_per_min with drops_per_ml, or setting
refusal-journal-running-and-none-what = running is true and how is none
refusal-journal-running-and-none-write = write "running":false, or how it ran
refusal-journal-still-and-steady-what = running is false and how is steady
refusal-journal-still-and-steady-write = write "running":true, or "how":"none"
refusal-journal-never-corrected-what = { $name } of an entry is never corrected
refusal-journal-never-corrected-write = strike the entry out and write a new one
refusal-journal-nothing-corrected-what = the correction names no field
refusal-journal-nothing-corrected-write = name at least one field and its new value
refusal-journal-other-what = { $given } can’t stand here ({ $message })
refusal-journal-other-write = see the description of the session file

# Entries together
refusal-journal-ids-missing-what =
    { $count ->
        [one] a file with { $event } must carry ids, and the entry on line { $first } has none
       *[other] a file with { $event } must carry ids, and { $count } entries have none, the first on line { $first }
    }
refusal-journal-ids-missing-write = give every entry an "id" of its own (a UUID), so that it is plain which entry is meant
refusal-journal-id-taken-what = another entry ({ $by }) has the id { $id } already and says something else
refusal-journal-id-taken-write = give this entry an id of its own; to change the other one, write a corrected
refusal-journal-opened-twice-what = session { $session } was opened already, at { $at } ({ $by })
refusal-journal-opened-twice-write = use session_details for what changed, or another session for another patient
refusal-journal-unknown-target-what = session { $session } has no entry { $target }
refusal-journal-unknown-target-write = write the id of an entry of the same session
refusal-journal-corrects-a-correction-what = entry { $target } is itself a correction, and corrections are not corrected
refusal-journal-corrects-a-correction-write = strike that correction out, and correct the first entry anew
refusal-journal-corrects-a-strike-out-what = entry { $target } is a strike-out, and what is struck out stays so
refusal-journal-corrects-a-strike-out-write = write a new entry
refusal-journal-strikes-a-strike-out-what = entry { $target } is a strike-out, and what is struck out stays so
refusal-journal-strikes-a-strike-out-write = write a new entry
refusal-journal-corrected-entry-what = entry { $target } so corrected would be refused: { $what }
refusal-journal-change-breaks-what = with this, entry { $target } would be refused by what a later change ({ $other }) says of it
refusal-journal-change-breaks-write = strike the later change out first, then write this one
refusal-journal-strange-line-what = { $event } names line { $line_name }, on which no bag was hung by { $at }
refusal-journal-strange-line-write = write one of the lines { $lines }, or chart the bag first
refusal-journal-line-without-bag-what = { $event } names line { $line_name }, and no bag is charted in this session
refusal-journal-line-without-bag-write = chart the bag first, with bag_hung

# At the journal's door
refusal-journal-no-id-what = the entry has no id
refusal-journal-no-id-write = give it an id before it is saved
refusal-journal-in-the-future-what = { $at } is still to come; it is { $now } now
refusal-journal-in-the-future-write = write when it happened; the clock of this computer may be wrong

# The disk or the database failed
fault-journal-full = The disk is full ({ $place }). Nothing was saved. Reference { $reference }.
fault-journal-busy = Another program holds the journal and does not let go ({ $place }). Nothing was saved. Reference { $reference }.
fault-journal-read-only = The journal can’t be written: it is read only ({ $place }). Nothing was saved. Reference { $reference }.
fault-journal-corrupt = The journal is damaged ({ $place }: { $detail }). Write nothing more into it; keep the file, and restore the last backup. Reference { $reference }.
fault-journal-newer = The journal was written by a newer version of this program ({ $place }: { $detail }). Use that version; nothing was changed. Reference { $reference }.
fault-journal-not-a-journal = This is not a journal ({ $place }: { $detail }). Reference { $reference }.
fault-journal-missing = There is no journal here ({ $place }). Reference { $reference }.
fault-journal-closed = The journal is closed ({ $place }). Nothing was saved. Reference { $reference }.
fault-journal-disk = The disk or the database failed ({ $place }: { $detail }). Reference { $reference }.

# What verifying a journal found
journal-break-database = The database file is damaged: { $detail }.
journal-break-guard-missing = { $name } is missing from the journal: it was taken out by another program.
journal-break-guard-strange = { $name } does not belong in a journal: it was put in by another program.
journal-break-guard-changed = { $name } is not as the journal was made with.
journal-break-gap = Entries { $first } to { $last } are missing.
journal-break-end-missing = Entries { $first } to { $last } were saved once and are missing at the end.
journal-break-counter = The journal says that { $highest } entries were ever saved, and holds { $last }: something was put in.
journal-break-id-twice = Entry { $seq } has the id { $id } of entry { $other }.
journal-break-opened-twice = Entry { $seq } opens session { $session }, which entry { $other } opened already.
journal-break-link = Entry { $seq } is number { $link } of its workstation, and should be { $expected }.
journal-break-prev = Entry { $seq } does not follow the one before it: something before it was changed, taken out or put in.
journal-break-hash = Entry { $seq } was changed after it was saved.
journal-break-payload-unreadable = Entry { $seq } can’t be read as an entry.
journal-break-payload-not-canonical = Entry { $seq } is not written in the canonical form.
journal-break-columns = What is kept beside entry { $seq } to find it by does not agree with the entry.

# Backing up, restoring, exporting
refusal-journal-backup-there-already-what = there is something here already
refusal-journal-backup-there-already-write = give a file that is not there yet; a backup never overwrites
refusal-journal-restore-there-already-what = a journal, or a part of one, stands here already
refusal-journal-restore-there-already-write = move it away first, with what lies beside it (-wal, -shm); restoring never overwrites
refusal-journal-backup-not-whole-what = the journal does not verify: { $text }
refusal-journal-backup-not-whole-write = keep the file as it is, and see what the last backup that verifies holds
refusal-journal-restore-not-whole-what = the backup does not verify: { $text }
refusal-journal-restore-not-whole-write = take an older backup
refusal-journal-no-session-what = the journal holds no session { $session }
refusal-journal-no-session-write = name one of { $known }
