package main

// pulls are whole sheets as people of several countries keep them.
var pulls = []sheet{
	{File: "pulls-us.csv", From: "English, United States", Of: "pulls", Says: "month first, pounds, thousands parted by commas in quotes",
		bytes: text("Date,Yard,Supers,Kind,Gross lb,Hives,Notes", `7/6/2026,Mill,12,deep,"1,000.5",6,rain at noon`, "7/13/2026,Ridge,3,Shallow,110,,"),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep, 453819 g, 6 hives; note "rain at noon"; typed gross_kg "1,000.5 lb"`,
			`2026-07-13 12:00 pull Ridge, 3 shallow, 49895 g; typed gross_kg "110 lb"`}},
	{File: "pulls-uk.csv", From: "English, United Kingdom", Of: "pulls", Says: "day first with two figures of the year, kilograms",
		bytes: text("Date pulled,Apiary,No. of supers,Super type,Gross wt (kg)", "06/07/26,Mill,12,deep,453.5", "13/07/26,Ridge,3,shallow,50"),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep, 453500 g`,
			`2026-07-13 12:00 pull Ridge, 3 shallow, 50000 g`}},
	{File: "pulls-es.csv", From: "Spanish, Spain", Of: "pulls", Says: "semicolons, decimal commas, thousands parted by points, in Windows-1252",
		bytes: windows1252("Fecha;Colmenar;Nº de alzas;Tipo de alza;Peso bruto (kg);Colmenas;Observaciones", "6/7/2026;Mill;12;deep;1.134,5;6;llovía a mediodía", "13/7/2026;Ridge;3;shallow;50,25;;"),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep, 1134500 g, 6 hives; note "llovía a mediodía"; typed gross_kg "1.134,5"`,
			`2026-07-13 12:00 pull Ridge, 3 shallow, 50250 g; typed gross_kg "50,25"`}},
	{File: "pulls-mx.csv", From: "Spanish, Mexico", Of: "pulls", Says: "months as words, pounds, a mark of UTF-8 at the beginning",
		bytes:  marked("Fecha,Apiario,Cajas,Tipo,Peso bruto lb", "06-jul-26,Mill,12,deep,1000"),
		Stored: []string{`2026-07-06 12:00 pull Mill, 12 deep, 453592 g; typed gross_kg "1000 lb"`}},
	{File: "pulls-de.csv", From: "German, Germany", Of: "pulls", Says: "headings in German",
		bytes: text("Datum;Stand;Zargen;Art;Gewicht kg;Völker", "6.7.2026;Mill;12;deep;1.134,5;6", "13.7.2026;Ridge;3;shallow;50,25;"),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep, 1134500 g, 6 hives; typed gross_kg "1.134,5"`,
			`2026-07-13 12:00 pull Ridge, 3 shallow, 50250 g; typed gross_kg "50,25"`}},
	{File: "pulls-fr.txt", From: "French, Canada", Of: "pulls", Says: "tabs, thousands parted by narrow blanks, headings in French",
		bytes: text("Date\tRucher\tHausses\tType\tPoids brut", "2026-07-06\tMill\t12\tdeep\t1\u202f134,5 kg", "2026-07-13\tRidge\t3\tshallow\t50,25 kg"),
		Stored: []string{
			"2026-07-06 12:00 pull Mill, 12 deep, 1134500 g; typed gross_kg \"1\u202f134,5 kg\"",
			`2026-07-13 12:00 pull Ridge, 3 shallow, 50250 g; typed gross_kg "50,25 kg"`}},
	{File: "pulls-pl.csv", From: "Polish, Poland", Of: "pulls", Says: "headings of a language that nobody taught the program",
		bytes:   text("Dzień;Pasieka;Korpusy;Rodzaj;Waga kg", "6.7.2026;Mill;12;deep;1 134,5", "13.7.2026;Ridge;3;shallow;50,25"),
		Asked:   []string{"0 missing"},
		Answers: answers{"columns": answers{"C": answers{"field": "supers"}, "E": answers{"field": "gross", "unit": "kg"}}},
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep, 1134500 g; typed gross_kg "1 134,5"`,
			`2026-07-13 12:00 pull Ridge, 3 shallow, 50250 g; typed gross_kg "50,25"`}},
	{File: "pulls-pt.csv", From: "Portuguese, Brazil", Of: "pulls", Says: "headings in Portuguese",
		bytes: text("Data;Apiário;Melgueiras;Tipo;Peso bruto (kg);Colmeias;Observações", "06/07/2026;Mill;12;deep;1.134,5;6;", "13/07/2026;Ridge;3;shallow;50,25;;chuva"),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep, 1134500 g, 6 hives; typed gross_kg "1.134,5"`,
			`2026-07-13 12:00 pull Ridge, 3 shallow, 50250 g; note "chuva"; typed gross_kg "50,25"`}},
	{File: "unit-above.csv", From: "English, Canada", Of: "pulls", Says: "a title that names another unit than the heading",
		bytes:   text("All weights in pounds,,,,", "Date,Yard,Supers,Kind,Gross kg", "2026-07-06,Mill,12,deep,1000"),
		Asked:   []string{"3E no_unit"},
		Answers: answers{"columns": answers{"E": answers{"field": "gross", "unit": "lb"}}},
		Stored:  []string{`2026-07-06 12:00 pull Mill, 12 deep, 453592 g; typed gross_kg "1000 lb"`}},
	{File: "dated-total.csv", From: "English, New Zealand", Of: "pulls", Says: "a last row that sums the others up, and has a date like them",
		bytes:   text("Date,Yard,Supers,Kind,Gross kg", "2026-07-06,Mill,12,deep,432", "2026-07-07,Ridge,10,deep,400.5", "2026-07-07,Mill,22,deep,832.5"),
		Asked:   []string{"4 looks_like_a_total"},
		Answers: answers{"rows": answers{"4": "leave_out"}},
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep, 432000 g`,
			`2026-07-07 12:00 pull Ridge, 10 deep, 400500 g`},
		LeftOut: 1},
	{File: "pulls-unicode.txt", From: "English, United States", Of: "pulls", Says: "text of two bytes a letter, as a spreadsheet program saves Unicode",
		bytes:  utf16Text("Date\tYard\tSupers\tKind", "7/13/2026\tMill\t12\tdeep"),
		Stored: []string{`2026-07-13 12:00 pull Mill, 12 deep`}},
	{File: "kinds-across.csv", From: "English, Canada", Of: "pulls", Says: "a column for each kind of box",
		bytes: text("Date,Yard,Deeps,Shallows,Gross kg", "2026-07-06,Mill,4,2,251.5", "2026-07-07,Ridge,,6,"),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 4 deep, 2 shallow, 251500 g`,
			`2026-07-07 12:00 pull Ridge, 6 shallow`}},
	{File: "groups-and-units.xlsx", From: "English, Canada", Of: "pulls", Says: "a title, headings of groups over merged cells, units in a row of their own",
		bytes: book("Pulls 2026", []row{
			{"Our honey"}, {nil, nil, "Supers", nil, "Weight"}, {"Date", "Yard", "deep", "shallow", "gross"}, {nil, nil, nil, nil, "lb"},
			{july(6), "Mill", 12, 2, 1000.5}, {}, {july(7), "Ridge", 3, nil, 250}}, merged("A1", "E1"), merged("C2", "D2")),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep, 2 shallow, 453819 g; typed gross_kg "1000.5 lb"`,
			`2026-07-07 12:00 pull Ridge, 3 deep, 113398 g; typed gross_kg "250 lb"`}},
	{File: "second-sheet.xlsx", From: "English, United Kingdom", Of: "pulls", Sheet: "Pulls", Says: "the table is on the second sheet, and a third one is hidden",
		bytes: book("Read me", []row{{"Pulls are on the next sheet."}}, then(func(f file, _ string) {
			for _, name := range []string{"Pulls", "Old"} {
				_, err := f.NewSheet(name)
				must(err)
				for i, cells := range []row{{"Date", "Yard", "Supers", "Kind"}, {july(6), "Mill", 12, "deep"}} {
					for j, c := range cells {
						put(f, name, j, i, c)
					}
				}
			}
			must(f.SetSheetVisible("Old", false))
		})),
		Stored: []string{`2026-07-06 12:00 pull Mill, 12 deep`}},
	{File: "odd-writer.xlsx", From: "Spanish, Argentina", Of: "pulls", Says: "a workbook of a program that writes neither places of cells nor shared texts nor styles, with a text in pieces",
		bytes: parts(
			[2]string{"xl/workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="Hoja1" sheetId="1" r:id="rId1"/></sheets></workbook>`},
			[2]string{"xl/_rels/workbook.xml.rels", `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`},
			[2]string{"xl/worksheets/sheet1.xml", `<x:worksheet xmlns:x="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><x:sheetData>` +
				`<x:row><x:c t="inlineStr"><x:is><x:t>Fecha</x:t></x:is></x:c><x:c t="inlineStr"><x:is><x:r><x:t>Col</x:t></x:r><x:r><x:t>menar</x:t></x:r></x:is></x:c><x:c t="str"><x:v>Alzas</x:v></x:c><x:c t="inlineStr"><x:is><x:t>Tipo</x:t></x:is></x:c><x:c t="inlineStr"><x:is><x:t>Peso bruto kg</x:t></x:is></x:c></x:row>` +
				`<x:row><x:c><x:v>46209</x:v></x:c><x:c t="inlineStr"><x:is><x:t xml:space="preserve"> Mill </x:t></x:is></x:c><x:c><x:v>1.2E1</x:v></x:c><x:c t="inlineStr"><x:is><x:t>deep</x:t></x:is></x:c><x:c><x:f>300+153.5</x:f><x:v>453.5</x:v></x:c></x:row>` +
				`</x:sheetData></x:worksheet>`}),
		Stored: []string{`2026-07-06 12:00 pull Mill, 12 deep, 453500 g`}},
	{File: "headings-again.csv", From: "English, United States", Of: "pulls", Says: "pages with the headings again, and blank lines",
		bytes: text("Date,Yard,Supers,Kind", "2026-07-06,Mill,12,deep", "", "Date,Yard,Supers,Kind", "2026-07-07,Ridge,3,shallow"),
		Stored: []string{
			`2026-07-06 12:00 pull Mill, 12 deep`,
			`2026-07-07 12:00 pull Ridge, 3 shallow`},
		LeftOut: 1},
}
