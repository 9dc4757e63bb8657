package main

// containers are sheets of drums and of the lots that they are of.
var containers = []sheet{
	{File: "lots.csv", From: "English, Canada", Of: "lots", Says: "lots with what they are of",
		bytes: text("Date,Lot code,Product,Store", "2026-07-15,L26,clover,hot room", "2026-07-16,L27,,"),
		Stored: []string{
			`2026-07-15 12:00 lot L26, clover, in hot room`,
			`2026-07-16 12:00 lot L27`}},
	{File: "containers.xlsx", From: "English, Canada", Of: "containers", After: "lots.csv", Says: "numbers of drums that the format shows with letters and noughts",
		bytes: book("drums", []row{{"Date", "Lot", "Tank", "Drum no", "Type", "Gross kg", "Tare kg", "Seal"},
			{july(20), "L26", "large tank", 7, "drum", 310.5, 17.5, 881}, {july(20), "L26", "large tank", 8, "drum", 311, 17, 882}}, styled("D2", "D3", `"D-"000`)),
		Stored: []string{
			`2026-07-20 12:00 container D-007 of L26 from large tank, drum, 310500 g gross, 17500 g tare, seal 881`,
			`2026-07-20 12:00 container D-008 of L26 from large tank, drum, 311000 g gross, 17000 g tare, seal 882`}},
	{File: "containers-es.csv", From: "Spanish, Mexico", Of: "containers", After: "lots.csv", Says: "net weights alone, the tare is that of the kind",
		bytes:  text("Fecha,Lote,Tanque,Tambor,Tipo,Peso neto kg", "20/7/2026,L26,large tank,1,drum,290"),
		Stored: []string{`2026-07-20 12:00 container 1 of L26 from large tank, drum, 307000 g gross, 17000 g tare`}},
	{File: "gross-tare-net.csv", From: "English, United States", Of: "containers", After: "lots.csv", Says: "gross less tare is not the net",
		bytes: text("Date,Lot,Tank,Drum no,Type,Gross kg,Tare kg,Net kg", "2026-07-20,L26,large tank,1,drum,310,17,293", "2026-07-20,L26,large tank,2,drum,310,17,239"),
		Asked: []string{"3H two_values"}},
	{File: "wrong-way-round.csv", From: "English, United States", Of: "containers", After: "lots.csv", Says: "gross and net are the wrong way round",
		bytes: text("Date,Lot,Tank,Drum no,Type,Gross kg,Net kg", "2026-07-20,L26,large tank,1,drum,290,307"),
		Asked: []string{"2G out_of_range"}},
	{File: "unknown-lot.csv", From: "English, Canada", Of: "containers", Says: "drums of a lot that is not in the book",
		bytes:   text("Date,Lot,Tank,Drum no,Type,Gross kg", "2026-07-20,L99,large tank,1,drum,307"),
		Asked:   []string{"2B unknown_name"},
		Answers: answers{"names": answers{"lot": answers{"L99": answers{"create": answers{}}}}},
		Stored: []string{
			`2026-07-20 12:00 lot L99`,
			`2026-07-20 12:00 container 1 of L99 from large tank, drum, 307000 g gross, 17000 g tare`}},
	{File: "too-full.csv", From: "English, Canada", Of: "containers", After: "lots.csv", Says: "a drum with more in it than it holds",
		bytes: text("Date,Lot,Tank,Drum no,Type,Gross kg,Tare kg", "2026-07-20,L26,large tank,1,drum,3070,17"),
		Asked: []string{"2F refused_by_book"}},
}
