package importing

// onDay is the date and time of the tables of yearFields.
var onDay = []string{"date", "day", "when", "date time", "datetime", "date and time", "fecha", "dia", "cuando", "fecha hora", "fecha y hora"}

// yearFields are the fields of the tables that complete an old season: how many hives there
// were, which supers went into which run, what was pumped and what was sold. Headings are as in houseFields.
var yearFields = []fieldInfo{
	{FieldDate, dates, "", append([]string{"counted", "counted on", "date counted", "inspected", "contadas", "fecha de recuento"}, onDay...), []Kind{HiveCounts}},
	{FieldDate, dates, "", append([]string{"moved", "moved on", "pumped on", "fecha de trasiego"}, onDay...), []Kind{Transfers}},
	{FieldTime, clocks, "", []string{"time", "clock", "hour", "hora"}, []Kind{HiveCounts, Transfers}},
	{FieldYard, names, NounYard, []string{"yard", "apiary", "site", "yard name", "location", "colmenar", "apiario", "asentamiento"}, []Kind{HiveCounts}},
	{FieldHives, counts, "", []string{"hives", "colonies", "hive count", "colony count", "number of hives", "no of hives", "number of colonies", "alive", "live", "live hives", "hives alive", "live colonies", "colonies alive",
		"colmenas", "numero de colmenas", "colmenas vivas", "vivas"}, []Kind{HiveCounts}},
	{FieldCountName, words, "", []string{"count", "which count", "count name", "round", "inspection", "recuento", "cual recuento", "revision", "ronda"}, []Kind{HiveCounts}},
	{FieldDate, dates, "", append([]string{"run date", "date of run", "run on", "extracted", "extracted on", "date extracted", "fecha de la tanda", "fecha de tanda", "fecha de extraccion", "extraido"}, onDay...), []Kind{RunSupers}},
	{FieldRun, words, "", []string{"run", "run name", "run no", "run number", "batch", "extraction", "into run", "tanda", "nombre de la tanda", "numero de tanda", "extraccion"}, []Kind{RunSupers}},
	{FieldYard, names, NounYard, []string{"yard", "apiary", "site", "yard name", "from yard", "colmenar", "apiario", "asentamiento", "del colmenar"}, []Kind{RunSupers}},
	{FieldPulled, dates, "", []string{"pulled", "pulled on", "date pulled", "pull", "pull date", "date of pull", "pull of", "recogida", "recogidas el", "fecha de recogida", "recogida del"}, []Kind{RunSupers}},
	{FieldSupers, counts, "", []string{"supers", "boxes", "number of supers", "no of supers", "count", "super count", "supers in", "boxes in", "alzas", "cajas", "numero de alzas"}, []Kind{RunSupers}},
	{FieldSuperKind, names, NounSuperKind, []string{"super kind", "kind", "size", "box", "box size", "super", "super type", "type", "tipo", "tipo de alza", "alza", "tamano"}, []Kind{RunSupers}},
	{FieldFromTank, names, NounTank, []string{"from", "from tank", "out of", "out of tank", "source", "source tank", "de", "desde", "del tanque", "desde el tanque", "tanque de origen", "origen"}, []Kind{Transfers}},
	{FieldToTank, names, NounTank, []string{"to", "to tank", "into", "into tank", "destination", "destination tank", "a", "al tanque", "hacia", "tanque de destino", "destino"}, []Kind{Transfers}},
	{FieldHoney, masses, "", []string{"honey", "amount", "quantity", "moved", "pumped", "transferred", "weight", "net", "net weight", "mass", "miel", "cantidad", "trasegado", "trasegada", "peso", "neto", "peso neto"}, []Kind{Transfers}},
	{FieldDate, dates, "", append([]string{"sold", "sold on", "date sold", "sale date", "date of sale", "shipped", "shipped on", "date shipped", "sent", "sent on", "delivered", "left on", "fecha de venta", "fecha de salida", "fecha de entrega", "vendido", "vendido el", "entregado"}, onDay...), []Kind{Sales}},
	{FieldTime, clocks, "", []string{"time", "clock", "hour", "hora"}, []Kind{Sales}},
	{FieldBuyer, names, NounBuyer, []string{"buyer", "customer", "client", "sold to", "to", "packer", "bought by", "comprador", "cliente", "vendido a", "a quien"}, []Kind{Sales}},
	{FieldContainer, words, "", []string{"container", "drum", "drum no", "drum number", "drum numbers", "number", "numbers", "no", "nos", "container no", "bucket", "pail", "barrel", "tambor", "numero", "numeros", "envase", "bidon", "numero de tambor", "numeros de tambor", "n"}, []Kind{Sales}},
	{FieldContainers, counts, "", []string{"containers", "drums", "buckets", "pails", "barrels", "how many", "count", "number of drums", "number of containers", "no of drums", "envases", "tambores", "bidones", "cuantos", "numero de tambores", "numero de envases", "cantidad de tambores"}, []Kind{Sales}},
	{FieldLot, names, NounLot, []string{"lot", "lot code", "lot no", "lot number", "batch", "lote", "codigo de lote", "numero de lote"}, []Kind{Sales}},
	{FieldNet, masses, "", []string{"net", "net weight", "net wt", "weight", "honey", "sold weight", "neto", "peso neto", "peso", "miel", "kilos vendidos"}, []Kind{Sales}},
	{FieldReference, words, "", []string{"reference", "ref", "waybill", "order", "order no", "order number", "invoice", "invoice no", "invoice number", "bill", "referencia", "albaran", "factura", "numero de factura", "pedido", "numero de pedido", "guia"}, []Kind{Sales}},
	{FieldNote, words, "", []string{"note", "notes", "comment", "comments", "remarks", "nota", "notas", "comentario", "comentarios", "observaciones"}, []Kind{Transfers, Sales}},
}
