package main

import "github.com/xuri/excelize/v2"

var from1904 = &excelize.WorkbookPropsOptions{Date1904: new(true)}

// others are sheets of yards and of runs.
var others = []sheet{
	{File: "yards.csv", From: "English, Canada", Of: "yards", Says: "places by letters of the compass, and a yard that the book has",
		bytes: text("Yard,Reg no,Lat,Long,Notes", "Alder Bend,MB-12,49.5 N,97.25 W,by the road", "Mill,,,,"),
		Stored: []string{
			`2000-01-01 12:00 yard Alder Bend, MB-12, 49.5 -97.25; note "by the road"; typed latitude_deg "49.5 N"; typed longitude_deg "97.25 W"`}},
	{File: "yards-es.csv", From: "Spanish, Spain", Of: "yards", Says: "decimal commas of degrees, of which three figures say nothing else",
		bytes: windows1252("Colmenar;Registro;Latitud;Longitud", "Peña Alta;ES-9;41,125;-3,250"),
		Stored: []string{
			`2000-01-01 12:00 yard Peña Alta, ES-9, 41.125 -3.25; typed latitude_deg "41,125"; typed longitude_deg "-3,250"`}},
	{File: "half-a-place.csv", From: "English, Canada", Of: "yards", Says: "a latitude without a longitude",
		bytes: text("Yard,Lat,Long", "Alder Bend,49.5,"),
		Asked: []string{"2C missing"}},
	{File: "runs.csv", From: "English, Canada", Of: "runs", Says: "a run into two tanks, in two rows",
		bytes: text("Date,Run,Tank,Honey kg,Wax kg", "2026-07-10,first,large tank,500,4.5", "2026-07-10,first,sump,90.5,", "2026-07-11,second,large tank,300,"),
		Stored: []string{
			`2026-07-10 12:00 run first, 30 a side`,
			`2026-07-10 12:00 500000 g of first into large tank`,
			`2026-07-10 12:00 end of first, 4500 g of wax`,
			`2026-07-10 12:00 90500 g of first into sump`,
			`2026-07-11 12:00 run second, 30 a side`,
			`2026-07-11 12:00 300000 g of second into large tank`}},
	{File: "gallons.csv", From: "English, Canada", Of: "runs", Says: "gallons, of which there are two",
		bytes: text("Date,Run,Tank,Honey gal", "2026-07-10,first,large tank,100"),
		Asked: []string{"2D no_unit"}},
	{File: "litres-or-one.csv", From: "English, United Kingdom", Of: "runs", Says: "a letter that is a digit, or litres",
		bytes: text("Date,Run,Tank,Honey kg", "2026-07-10,first,large tank,23l", "2026-07-11,second,large tank,2l.5"),
		Asked: []string{"2D text_behind_figure", "3D no_figure"}},
	{File: "no-tank.csv", From: "English, Canada", Of: "runs", Says: "honey, and no tank that it went into",
		bytes:   text("Date,Run,Honey kg", "2026-07-10,first,500"),
		Asked:   []string{"2C missing"},
		Answers: answers{"fixed": answers{"tank": "large tank"}},
		Stored: []string{
			`2026-07-10 12:00 run first, 30 a side`,
			`2026-07-10 12:00 500000 g of first into large tank`}},
}
