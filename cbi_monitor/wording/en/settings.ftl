# Faults of the files that a ward writes: what is wrong, and what to write. "what" and "write" stand in one line:
# file:line:column: field: what; write

settings-cannot-open-what = cannot be opened ({ $why })
settings-cannot-open-write = check the name and the rights of the file
settings-too-large-what = is { $size } bytes long, more than such a file can be
settings-too-large-write = check that this is the right file
settings-empty-what = holds nothing
settings-empty-write = copy the shipped file and change the copy
settings-not-utf8-what = cannot be read as UTF-8 text (byte { $byte })
settings-not-utf8-write = save it again as UTF-8
settings-cut-off-what = the last line does not end; the file may be cut off
settings-cut-off-write = compare the end with the shipped file, then end the last line with the Enter key

settings-syntax-what = cannot be read ({ $why })
settings-syntax-write = write one “key = value” a line, text in quotation marks
settings-twice-what = is written twice
settings-twice-write = keep one of the two lines
settings-table-twice-what = this table is begun twice
settings-table-twice-write = put the keys of both under one heading
settings-decimal-comma-what = has a comma where a point belongs
settings-decimal-comma-write = write { $example }
settings-with-unit-what = has a unit or a word after the number
settings-with-unit-write = write the number alone: { $example }
settings-clock-unquoted-what = is a time of day without quotation marks
settings-clock-unquoted-write = write { $example }
settings-unquoted-what = is a word without quotation marks
settings-unquoted-write = write { $example }
settings-no-value-what = has no value
settings-no-value-write = write { $example }
settings-no-equals-what = has no equals sign between key and value
settings-no-equals-write = write { $example }
settings-open-quote-what = has a quotation mark that is never closed
settings-open-quote-write = close the text with a quotation mark on the same line
settings-open-list-what = has a bracket that is never closed
settings-open-list-write = close the list with ]

settings-missing-what = is missing
settings-missing-write = write { $example }
settings-unknown-what = is not a key of this file
settings-unknown-table-what = is not a table of this file
settings-unknown-write = take the line out; known here: { $known }
settings-unknown-guess-write = did you mean { $guess }?
settings-kind-what = is { $given }, but must be { $wanted }
settings-kind-write = write { $example }
settings-kind-bare-write = write { $wanted }
settings-above-what = is { $given }, but must be above { $limit }
settings-at-least-what = is { $given }, but must be at least { $limit }
settings-below-what = is { $given }, but must be below { $limit }
settings-at-most-what = is { $given }, but must be at most { $limit }
settings-limit-write = write a number that the ward means; shipped: { $example }
settings-limit-bare-write = write a number within the limit
settings-word-what = is { $given }, which is none of the words allowed here
settings-word-write = write one of { $known }
settings-word-guess-write = did you mean { $guess }? (one of { $known })
settings-pattern-what = is { $given }, which has not the form { $form }
settings-pattern-write = write something like { $example }
settings-form-colour = #rrggbb
settings-form-key = small letters, digits and _, beginning with a letter
settings-too-few-what = holds too few entries
settings-too-many-what = holds too many entries
settings-entries-write = write { $example }
settings-entries-bare-write = write as many as the shipped file
settings-empty-text-what = is an empty text
settings-empty-text-write = write { $example }
settings-empty-text-bare-write = write a word
settings-rule-what = { $why }
settings-rule-write = change one of the two
settings-other-write = compare it with the shipped file

settings-wanted-number = a number
settings-wanted-whole-number = a whole number
settings-wanted-text = text in quotation marks
settings-wanted-yes-no = true or false
settings-wanted-list = a list in brackets
settings-wanted-table = a table of keys
settings-wanted-clock = a time of day as text, "HH:MM"
settings-given-text = the text { $value }
settings-given-number = the number { $value }
settings-given-yes-no = { $value }
settings-given-list = a list
settings-given-table = a table
settings-given-date = the date or time { $value }

settings-out-of-order-what = is { $a }, but must be { $words ->
    [below] below
   *[other] at most
} { $large }, which is { $b }
settings-out-of-order-write = change one of the two; shipped: { $example }
settings-zone-what = is { $given }, which is no time zone
settings-zone-write = write a name like "Europe/London"
settings-zone-guess-write = did you mean "{ $guess }"?
settings-fluid-unknown-what = is { $given }, which stands not under [fluids]
settings-fluid-unknown-write = write one of { $known }, or add the fluid
settings-same-what = is { $given }, as is { $other }
settings-same-write = give each its own
settings-tare-size-what = is no bag volume
settings-tare-size-write = write the label in mL as the key, like 3000 = 75
settings-pair-what = begins at { $low }, above its end { $high }
settings-pair-write = write the lower number first

# Maps of other charts.
settings-map-event-what = is { $given }, which is no event of a chart
settings-map-field-what = is { $given }, which is no field of { $event } that a map can fill
settings-map-needs-unit-what = { $field } of { $event } takes a number, but this item has no unit
settings-map-needs-unit-write = write unit = "…" with one of the units under [units]
settings-map-no-unit-what = { $field } of { $event } takes text, but this item has a unit
settings-map-no-unit-write = take the unit out
settings-map-unit-what = is { $given }, which stands not under [units]
settings-map-unit-write = write one of { $known }, or add [units.…] with the chart’s spellings of it
settings-map-encoding-what = is { $given }, which is no encoding
settings-map-encoding-write = write encoding = "utf-8", or "cp1252" for many spreadsheets
settings-map-zone-write = write a name like "Europe/London" or an offset like "+01:00"
settings-map-together-what = needs { $one } and { $other } together
settings-map-together-write = write both or neither
settings-map-item-twice-write = keep it under [items] or under [left_out]

# What a Kept file says of itself while a newer one does not pass.
settings-last-good-in-force = { $file } has { $count ->
    [one] a fault
   *[other] { $count } faults
}; what was last read without a fault stays in force.
settings-shipped-in-force = { $file } has { $count ->
    [one] a fault
   *[other] { $count } faults
} and was never read without one; the shipped values are in force.
settings-copy-not-kept = { $file } is in force, but its copy for the next start could not be saved ({ $why }).
