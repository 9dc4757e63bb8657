package importing_test

import (
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// The commonest headings of German, French and Portuguese sheets say what their columns are.
func TestHeadingsInGermanFrenchAndPortugueseAreKnown(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		of             importing.Kind
		headings, want string
	}{
		{importing.Pulls, "Datum;Uhrzeit;Stand;Zargen;Völker;Brutto (kg);Bemerkungen", "date time yard supers hives_worked gross note"},
		{importing.Pulls, "Datum;Bienenstand;Honigräume;Gewicht brutto kg;Gewicht leer", "date yard supers gross -"},
		{importing.Pulls, "Date;Rucher;Hausses;Poids brut kg;Ruches;Remarques", "date yard supers gross hives_worked note"},
		{importing.Pulls, "Data;Apiário;Melgueiras;Peso bruto (kg);Colmeias;Observações", "date yard supers gross hives_worked note"},
		{importing.Containers, "Datum;Los;Tank;Fass Nr.;Gebindeart;Brutto kg;Tara kg;Netto kg", "date lot tank container container_kind gross tare net"},
		{importing.Containers, "Date;Lot;Cuve;Fût;Type de fût;Poids brut;Tare;Poids net", "date lot tank container container_kind gross tare net"},
		{importing.Containers, "Data;Lote;Tanque;Tambor;Tipo;Peso bruto;Tara;Peso líquido", "date lot tank container container_kind gross tare net"},
		{importing.Runs, "Datum;Tanda;Tank;Honig kg;Wachs kg", "date name tank honey wax"},
		{importing.Readings, "Datum;Tank;Wassergehalt %;Leitfähigkeit mS/cm;Farbe", "date tank moisture_pct conductivity_ms_per_cm colour_mm_pfund"},
		{importing.Readings, "Date;Cuve;Humidité %;Conductivité;Couleur", "date tank moisture_pct conductivity_ms_per_cm colour_mm_pfund"},
		{importing.Readings, "Data;Tanque;Umidade %;Condutividade;Cor", "date tank moisture_pct conductivity_ms_per_cm colour_mm_pfund"},
		{importing.Sales, "Datum;Käufer;Fass;Netto kg;Rechnung", "date buyer container net reference"},
	} {
		var got []string
		for _, c := range newHouse().guess(t, row.of, row.headings+"\n2026-07-06;;;;;;;\n").Columns {
			if got = append(got, string(c.Field)); c.Field == "" {
				got[len(got)-1] = "-"
			}
		}
		if strings.TrimRight(strings.Join(got, " "), " -") != strings.TrimRight(row.want, " -") {
			t.Errorf("%s: %v", row.headings, got)
		}
	}
}
