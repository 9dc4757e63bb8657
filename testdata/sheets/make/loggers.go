package main

// loggers are files as loggers of temperature write them.
var loggers = []sheet{
	{File: "logger.csv", From: "English, United States", Of: "temperature_logs", Says: "titles above, Fahrenheit, a zone in the heading, a line without a value, and no tank",
		bytes:   text("Logger 4711", "", `"#","Date Time, GMT-05:00","Temp, °F"`, "1,07/14/26 07:00:00 AM,86.0", "2,07/14/26 08:00:00 AM,87.8", "3,07/14/26 09:00:00 AM,", "4,07/14/26 10:00:00 AM,89.6"),
		Asked:   []string{"0 missing"},
		Answers: answers{"fixed": answers{"tank": "sump"}}, LeftOut: 1,
		Stored: []string{`2026-07-14 12:00 log sump: 12:00 30, 13:00 31, 15:00 32`}},
	{File: "logger-second.csv", From: "English, United States", Of: "temperature_logs", After: "logger.csv", Says: "another logger's file with the same headings",
		bytes:   text("Logger 4712", "", `"#","Date Time, GMT-05:00","Temp, °F"`, "1,07/14/26 07:00:00 AM,68.0"),
		Asked:   []string{"0 as_last_time", "0 missing"},
		Answers: answers{"as_last_time": false, "fixed": answers{"tank": "large tank"}},
		Stored:  []string{`2026-07-14 12:00 log large tank: 12:00 20`}},
	{File: "logger-de.csv", From: "German, Germany", Of: "temperature_logs", Says: "decimal commas and headings of a language that nobody taught the program",
		bytes:   text("Zeit;Wert in C;Raum", "14.07.2026 08:00;35,5;hot room", "14.07.2026 09:00;36,25;hot room"),
		Asked:   []string{"0 missing"},
		Answers: answers{"columns": answers{"B": answers{"field": "temperature", "unit": "C"}}},
		Stored:  []string{`2026-07-14 08:00 log hot room: 08:00 35.5, 09:00 36.25`}},
	{File: "logger-twelve.csv", From: "English, United States", Of: "temperature_logs", Says: "the clock shows twelve hours, and does not say which half of the day",
		bytes: text("Date,Time,Tank,Temp F", "2026-07-06,11:00,sump,86", "2026-07-06,12:00,sump,87", "2026-07-06,1:00,sump,88"),
		Asked: []string{"4B no_date"}},
	{File: "logger-midnight.xlsx", From: "English, United Kingdom", Of: "temperature_logs", Says: "midnight, which a workbook keeps as a day without a time",
		bytes: book("log", []row{{"Timestamp", "Room", "Temp C"}, {july(7).Add(-60 * 60 * 1e9), "hot room", 30}, {july(7), "hot room", 31}, {july(7).Add(60 * 60 * 1e9), "hot room", 32}}),
		Stored: []string{
			`2026-07-06 23:00 log hot room: 23:00 30`,
			`2026-07-07 00:00 log hot room: 00:00 31, 01:00 32`}},
}
