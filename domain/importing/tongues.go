package importing

import "slices"

// tongues are headings in German, French and Portuguese of the commonest fields, without accents;
// common practice. What is guessed by them is shown like every guess.
var tongues = []struct {
	in       []Kind // all that have the field, where it is nil
	field    Field
	headings []string
}{
	{nil, FieldDate, []string{"datum", "jour", "data", "data e hora", "date et heure", "datum uhrzeit", "datum und uhrzeit"}},
	{nil, FieldTime, []string{"uhrzeit", "zeit", "heure", "horario"}},
	{nil, FieldYard, []string{"stand", "bienenstand", "standort", "standplatz", "rucher", "emplacement", "apiario"}},
	{[]Kind{Yards}, FieldName, []string{"stand", "bienenstand", "standort", "rucher"}},
	{nil, FieldSupers, []string{"zargen", "honigzargen", "honigraume", "anzahl zargen", "hausses", "nombre de hausses", "melgueiras", "alcas", "numero de melgueiras"}},
	{nil, FieldSuperKind, []string{"zargenart", "zargentyp", "type de hausse", "tipo de melgueira"}},
	{nil, FieldHivesWorked, []string{"volker", "anzahl volker", "ruches", "colonies", "colmeias", "colonias"}},
	{nil, FieldHives, []string{"volker", "volkerzahl", "anzahl volker", "ruches", "nombre de ruches", "colmeias", "numero de colmeias"}},
	{nil, FieldGross, []string{"brutto", "bruttogewicht", "gewicht brutto", "gewicht", "poids brut", "brut", "poids", "peso bruto"}},
	{nil, FieldTare, []string{"leergewicht", "tare", "poids vide"}},
	{[]Kind{Containers, Sales}, FieldNet, []string{"netto", "nettogewicht", "gewicht netto", "honig", "poids net", "mel", "peso liquido", "liquido"}},
	{[]Kind{Sales}, FieldNet, []string{"gewicht", "poids"}},
	{[]Kind{Runs, Transfers}, FieldHoney, []string{"honig", "netto", "menge", "poids net", "quantite", "mel", "peso liquido", "quantidade"}},
	{[]Kind{Runs}, FieldWax, []string{"wachs", "deckelwachs", "cire", "cire d opercules"}},
	{nil, FieldTank, []string{"cuve", "maturateur", "lagertank", "decantador"}},
	{nil, FieldLot, []string{"los", "losnummer", "chargennummer", "numero de lot"}},
	{nil, FieldContainer, []string{"fass", "fassnummer", "fass nr", "eimer", "gebinde", "fut", "numero de fut", "seau", "tambor", "balde"}},
	{nil, FieldContainers, []string{"fasser", "anzahl fasser", "futs", "nombre de futs"}},
	{[]Kind{Containers}, FieldContainerKind, []string{"gebindeart", "fasstyp", "type de fut"}},
	{nil, FieldMoisture, []string{"wassergehalt", "wasser", "feuchte", "feuchtigkeit", "humidite", "teneur en eau", "umidade", "humidade", "teor de agua"}},
	{nil, FieldSampleC, []string{"honigtemperatur", "temperatur"}},
	{nil, FieldTemperature, []string{"temperatur"}},
	{nil, FieldHumidity, []string{"luftfeuchte", "luftfeuchtigkeit", "relative feuchte", "humidite", "humidite relative", "umidade", "umidade relativa"}},
	{nil, FieldColour, []string{"farbe", "couleur", "cor"}},
	{nil, FieldConductivity, []string{"leitfahigkeit", "elektrische leitfahigkeit", "conductivite", "conductivite electrique", "condutividade", "condutividade eletrica"}},
	{nil, FieldFreeAcidity, []string{"freie saure", "sauregehalt", "acidite libre", "acidite", "acidez livre"}},
	{nil, FieldDiastase, []string{"diastasezahl", "indice diastasique"}},
	{nil, FieldBuyer, []string{"kaufer", "kunde", "abnehmer", "acheteur", "client", "vendido para"}},
	{nil, FieldReference, []string{"rechnung", "rechnungsnummer", "lieferschein", "facture", "fatura", "nota fiscal"}},
	{nil, FieldNote, []string{"notiz", "notizen", "bemerkung", "bemerkungen", "anmerkung", "remarque", "remarques", "commentaire", "observacoes", "observacao"}},
}

// inTongues adds those headings to fields that are known by others.
func inTongues(fields []fieldInfo) []fieldInfo {
	for i := range fields {
		f := &fields[i]
		for _, t := range tongues {
			if t.field != f.field || t.in != nil && !slices.ContainsFunc(t.in, f.isIn) {
				continue
			}
			for _, heading := range t.headings {
				if !slices.Contains(f.headings, heading) {
					f.headings = append(slices.Clip(f.headings), heading)
				}
			}
		}
	}
	return fields
}
