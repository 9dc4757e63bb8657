package importing

// onDay is the date and time of the tables of yearFields.
var onDay = []string{"date", "day", "when", "date time", "datetime", "date and time", "fecha", "dia", "cuando", "fecha hora", "fecha y hora"}

// yearFields are the fields of the tables that complete an old season: how many hives there
// were, and what was pumped. Headings are as in houseFields.
var yearFields = []fieldInfo{
	{FieldDate, dates, "", append([]string{"counted", "counted on", "date counted", "inspected", "contadas", "fecha de recuento"}, onDay...), []Kind{HiveCounts}},
	{FieldDate, dates, "", append([]string{"moved", "moved on", "pumped on", "fecha de trasiego"}, onDay...), []Kind{Transfers}},
	{FieldTime, clocks, "", []string{"time", "clock", "hour", "hora"}, []Kind{HiveCounts, Transfers}},
	{FieldYard, names, NounYard, []string{"yard", "apiary", "site", "yard name", "location", "colmenar", "apiario", "asentamiento"}, []Kind{HiveCounts}},
	{FieldHives, counts, "", []string{"hives", "colonies", "hive count", "colony count", "number of hives", "no of hives", "number of colonies", "alive", "live", "live hives", "hives alive", "live colonies", "colonies alive",
		"colmenas", "numero de colmenas", "colmenas vivas", "vivas"}, []Kind{HiveCounts}},
	{FieldCountName, words, "", []string{"count", "which count", "count name", "round", "inspection", "recuento", "cual recuento", "revision", "ronda"}, []Kind{HiveCounts}},
	{FieldFromTank, names, NounTank, []string{"from", "from tank", "out of", "out of tank", "source", "source tank", "de", "desde", "del tanque", "desde el tanque", "tanque de origen", "origen"}, []Kind{Transfers}},
	{FieldToTank, names, NounTank, []string{"to", "to tank", "into", "into tank", "destination", "destination tank", "a", "al tanque", "hacia", "tanque de destino", "destino"}, []Kind{Transfers}},
	{FieldHoney, masses, "", []string{"honey", "amount", "quantity", "moved", "pumped", "transferred", "weight", "net", "net weight", "mass", "miel", "cantidad", "trasegado", "trasegada", "peso", "neto", "peso neto"}, []Kind{Transfers}},
	{FieldNote, words, "", []string{"note", "notes", "comment", "comments", "remarks", "nota", "notas", "comentario", "comentarios", "observaciones"}, []Kind{Transfers}},
}
