package main

import "time"

// dates are sheets whose dates can mean two days.
var dates = []sheet{
	{File: "turned-round.xlsx", From: "English, Australia", Of: "pulls", Says: "a program that expects the month first took 6/7 for 7 June and left 13/7 the text that it is",
		bytes:   book("p", []row{{"Date", "Yard", "Supers", "Kind"}, {day(time.June, 7), "Mill", 12, "deep"}, {"13/7/2026", "Ridge", 3, "deep"}}),
		Asked:   []string{"2A turned_dates"},
		Answers: answers{"turned_dates": "turned_round"},
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep`,
			`2026-07-13 12:00 pull Ridge, 3 deep`}},
	{File: "turned-round-hidden.xlsx", From: "English, New Zealand", Of: "pulls", Says: "dates turned round, of which only a row that was hidden tells",
		bytes: book("p", []row{{"Date", "Yard", "Supers", "Kind"}, {day(time.June, 7), "Mill", 12, "deep"}, {"13/7/2026", "Ridge", 3, "deep"}},
			then(func(f file, sheet string) { must(f.SetRowVisible(sheet, 3, false)) })),
		Asked:   []string{"2A turned_dates"},
		Answers: answers{"turned_dates": "turned_round", "rows_taken_out": "leave_out"}, LeftOut: 1,
		Stored: []string{`2026-07-06 12:00 pull Mill, 12 deep`}},
	{File: "no-year.csv", From: "English, United States", Of: "pulls", Says: "days and months, and no year",
		bytes:   text("Date,Yard,Supers,Kind", "14 July,Mill,12,deep", "July 15,Mill,13,deep", "16-jul,Mill,14,deep"),
		Asked:   []string{"2A no_year and 2 more"},
		Answers: answers{"year": 2026},
		Stored: []string{
			`2026-07-14 12:00 pull Mill, 12 deep`,
			`2026-07-15 12:00 pull Mill, 13 deep`,
			`2026-07-16 12:00 pull Mill, 14 deep`}},
	{File: "no-year-no-order.csv", From: "English, Canada", Of: "pulls", Says: "two figures, of which neither is a year",
		bytes:   text("Date,Yard,Supers,Kind", "7-6,Mill,12,deep", "7-8,Mill,13,deep"),
		Asked:   []string{"2A two_dates and 1 more"},
		Answers: answers{"year": 2026, "dates": "month_first"},
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep`,
			`2026-07-08 12:00 pull Mill, 13 deep`}},
	{File: "either.csv", From: "German, Switzerland", Of: "pulls", Says: "no date says which figure is the day, and the season is not in the book",
		bytes:   text("Date;Yard;Supers;Kind", "7.6.25;Mill;12;deep", "8.6.25;Mill;13;deep"),
		Asked:   []string{"2A two_dates and 1 more"},
		Answers: answers{"dates": "day_first", "make_seasons": true},
		Stored: []string{
			`2025-01-01 00:00 season 2025`,
			`2025-06-07 12:00 pull Mill, 12 deep`,
			`2025-06-08 12:00 pull Mill, 13 deep`}},
	{File: "both-orders.csv", From: "English, Canada", Of: "pulls", Says: "two people, one with the day first",
		bytes: text("Date,Yard,Supers,Kind", "13/7/2026,Mill,12,deep", "7/14/2026,Mill,13,deep", "5/6/2026,Mill,14,deep"),
		Asked: []string{"4A two_dates"}},
	{File: "from-1904.xlsx", From: "English, United States", Of: "pulls", Says: "days are counted from 1904",
		bytes: book("p", []row{{"Date", "Yard", "Supers", "Kind"}, {july(6), "Mill", 12, "deep"}}, func(f file, sheet string) {
			if sheet == "" {
				must(f.SetWorkbookProps(from1904))
			}
		}),
		Stored: []string{`2026-07-06 12:00 pull Mill, 12 deep`}},
	{File: "numbers-of-days.csv", From: "English, United States", Of: "pulls", Says: "dates as the numbers by which a spreadsheet keeps them, in a text file",
		bytes: text("Date,Yard,Supers,Kind", "46209,Mill,12,deep", "46210,Mill,13,deep"),
		Asked: []string{"2A no_date", "3A no_date"}},
	{File: "day-once.csv", From: "English, Canada", Of: "pulls", Says: "the date stands in the first row of its day alone",
		bytes: text("Date,Yard,Supers,Kind", "2026-07-06,Mill,12,deep", ",Ridge,3,deep"),
		Asked: []string{"3A no_date"}},
	{File: "day-merged.xlsx", From: "English, Canada", Of: "pulls", Says: "the date is merged with the cells below it",
		bytes: book("p", []row{{"Date", "Yard", "Supers", "Kind"}, {july(6), "Mill", 12, "deep"}, {nil, "Ridge", 3, "deep"}}, merged("A2", "A3")),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep`,
			`2026-07-06 12:00 pull Ridge, 3 deep`}},
	{File: "not-yet.csv", From: "English, Canada", Of: "pulls", Says: "a year typed wrongly, so that it is yet to come",
		bytes: text("Date,Yard,Supers,Kind", "2062-07-06,Mill,12,deep"),
		Asked: []string{"2A refused_by_book"}},
}
