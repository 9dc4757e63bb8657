package main

// readings are sheets of what was measured.
var readings = []sheet{
	{File: "readings-us.csv", From: "English, United States", Of: "readings", Says: "times with AM and PM, samples in Fahrenheit",
		bytes: text("Date,Time,Tank,Where,Moisture %,Sample temp F,Refractometer", "7/14/2026,2:30 PM,large tank,top,17.4,68,refractometer", "7/14/2026,2:45 PM,sump,gate,18.1,77,refractometer"),
		Stored: []string{
			`2026-07-14 14:30 reading large tank top, moisture_pct 17.4 at 20 C by refractometer; typed sample_temperature_c "68 F"`,
			`2026-07-14 14:45 reading sump gate, moisture_pct 18.1 at 25 C by refractometer; typed sample_temperature_c "77 F"`}},
	{File: "readings-es.csv", From: "Spanish, Spain", Of: "readings", Says: "decimal commas, and less than the method can tell",
		bytes: text("Fecha;Tanque;Punto;Humedad %;HMF;Método HMF", "14/7/2026;large tank;llave;17,4;<3;HPLC"),
		Stored: []string{
			`2026-07-14 12:00 reading large tank gate, moisture_pct 17.4, hmf_mg_per_kg <3 HPLC; typed hmf_mg_per_kg "<3"; typed moisture_pct "17,4"`}},
	{File: "percent.xlsx", From: "English, Canada", Of: "readings", Says: "a part of one that the format shows as a percentage",
		bytes:  book("r", []row{{"Date", "Tank", "Moisture"}, {july(6), "sump", 0.174}}, styled("C2", "C2", "0.0%")),
		Stored: []string{`2026-07-06 12:00 reading sump, moisture_pct 17.4; typed moisture_pct "17.4 %"`}},
	{File: "parts-of-one.csv", From: "English, Canada", Of: "readings", Says: "moistures as parts of one",
		bytes: text("Date,Tank,Moisture", "2026-07-06,sump,0.174"),
		Asked: []string{"2C refused_by_book"}},
	{File: "other-scale.csv", From: "English, Canada", Of: "readings", Says: "a refractive index under the heading of the moisture",
		bytes: text("Date,Tank,Moisture", "2026-07-06,sump,17.4", "2026-07-07,sump,1.4915"),
		Asked: []string{"3C refused_by_book"}},
	{File: "scales.csv", From: "English, United Kingdom", Of: "readings", Says: "each row says what another scale showed, and one says two",
		bytes:   text("Date,Tank,Brix,Refractive index", "2026-07-06,sump,80.5,", "2026-07-07,sump,,1.4915", "2026-07-08,sump,80.5,1.4915"),
		Asked:   []string{"4C two_values"},
		Answers: answers{"leave_out_rows": []int{4}}, LeftOut: 1,
		Stored: []string{
			`2026-07-06 12:00 reading sump, brix_deg 80.5`,
			`2026-07-07 12:00 reading sump, refractive_index 1.4915`}},
	{File: "readings-letters.csv", From: "English, United States", Of: "readings", Says: "a letter for a nought, and a mark for nothing",
		bytes: text("Date,Tank,Moisture", "2026-07-06,sump,17.O", "2026-07-07,sump,n/a"),
		Asked: []string{"2C text_behind_figure", "3 missing"}},
	{File: "readings-mended.csv", From: "English, United States", Of: "readings", After: "readings-us.csv", Says: "the sheet comes again with a reading that was mended",
		bytes:   text("Date,Time,Tank,Where,Moisture %,Sample temp F,Refractometer", "7/14/2026,2:30 PM,large tank,top,17.6,68,refractometer", "7/14/2026,2:45 PM,sump,gate,18.1,77,refractometer"),
		Asked:   []string{"2 like_recorded"},
		Answers: answers{"alike_rows": "correct"},
		Stored: []string{
			`2026-07-14 14:30 corrects reading large tank top, moisture_pct 17.6 at 20 C by refractometer; typed sample_temperature_c "68 F"`}},
}
