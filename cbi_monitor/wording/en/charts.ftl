# Reading other charts: what cannot be read of a table, and what was read.

charts-cannot-open-what = cannot be opened ({ $why })
charts-cannot-open-write = check the name and the rights of the file
charts-empty-what = holds no rows
charts-empty-write = check that this is the right file, with a heading line and rows under it
charts-encoding-what = cannot be read as { $encoding } (byte { $byte })
charts-encoding-write = write the file’s encoding into the map, or save the file as { $encoding }
charts-form-what = is no row of a table ({ $why })
charts-form-write = check quotation marks, and delimiter and encoding in the map
charts-no-column-what = has no column { $name }
charts-no-column-write = write the column’s name into the map; there are: { $known }
charts-no-column-guess-write = did you mean { $guess }?
charts-two-columns-what = has two columns { $name }
charts-two-columns-write = rename one of them
charts-cells-what = has { $given } cells, but the heading has { $wanted }
charts-cells-write = check the delimiter and the quotation marks of this line; the file may be cut off
charts-blank-what = is empty
charts-blank-write = write the { $name }, or take the row out
charts-time-what = is { $given }, which is no date and time
charts-time-write = write it like { $example }, or write the chart’s form as time_format into the map
charts-year-what = is { $given }, a year that cannot be reckoned with
charts-year-write = write a year from 1000 to 8999
charts-skipped-hour-what = is { $given }, a time that the clocks of { $zone } skipped
charts-skipped-hour-write = check the zone in the map, or write the time with its offset
charts-twice-hour-what = is { $given }, a time that the clocks of { $zone } showed twice
charts-twice-hour-write = write the time with its offset, or clock_going_back = "first" or "second" into the map
charts-number-what = is { $given }, which is no number
charts-number-write = write the number alone, like 250
charts-decimal-what = is { $given }, which is no number with “{ $decimal }” as decimal sign and no other sign
charts-decimal-write = write it without signs for thousands, or put the chart’s decimal sign into the map
charts-unit-what = is { $given }, a unit that the map does not know for { $unit }
charts-unit-blank-what = is empty, but the item is counted in { $unit }
charts-unit-write = write it under [units.{ $unit }] in the map, with what one of it amounts to; known: { $known }
charts-word-what = is { $given }, a word that the map does not know for this item
charts-word-write = write it under values or leave_out in the map; known: { $known }
charts-word-guess-write = did you mean { $guess }? Else write it under values or leave_out in the map
charts-sex-what = is { $given }, a word that the map does not know
charts-sex-write = write it under sex_words in the map; known: { $known }
charts-session-twice-what = is { $given }, which stands in line { $first } already
charts-session-twice-write = keep one row a session
charts-session-write = write something else into the table of sessions, or take the column out of the map

charts-told-rows = { $rows ->
    [one] 1 row read
   *[other] { $rows } rows read
}, { $taken ->
    [one] 1 entry
   *[other] { $taken } entries
} for { $sessions ->
    [one] 1 session
   *[other] { $sessions } sessions
}.
charts-told-item = { $count } × { $words } (item { $code }) became { $event }.
charts-told-wrong = { $count ->
    [one] 1 row is marked as wrong in the chart: read and struck out.
   *[other] { $count } rows are marked as wrong in the chart: read and struck out.
}
charts-told-unmapped = { $count } × item { $code }: not in the map, not taken.
charts-told-left-out = { $count } × item { $code }: left out by the map ({ $why }).
charts-told-left-out-word = { $count } × “{ $word }” of item { $code }: left out by the map.
charts-told-stored-before = { $count ->
    [one] 1 row was stored before the time it is charted for; it is read as it stands.
   *[other] { $count } rows were stored before the time they are charted for; they are read as they stand.
}
charts-told-no-details = { $session } stands not in the table of sessions: no weight, no sex.
charts-told-unused = { $count ->
    [one] 1 session of the table has no row in the chart and is not opened.
   *[other] { $count } sessions of the table have no row in the chart and are not opened.
}
charts-told-opened-earlier = { $session } is charted from { $charted }, before its opening at { $opened }: opened at its first entry.
charts-told-twice-hour = { $count ->
    [one] 1 time lies in the hour that the clock showed twice; the { $which } was taken.
   *[other] { $count } times lie in the hour that the clock showed twice; the { $which } was taken.
}
charts-told-not-ended = The last line does not end: the file may be cut off after what was read.
charts-wrong-reason = marked as wrong in the chart
