package work_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
)

// TestAStrangerWritesABuyersLimitsDownAndSeesALotJudgedByThem: by what is in sight alone, on a phone, and as each
// reader has it. Of lot L-1 a drum was read at 17.6 %, which is above 17.5. At 1.90 a pound 650 lb bring 1,235.00; 0.05
// off a pound takes 32.50 from that.
func TestAStrangerWritesABuyersLimitsDownAndSeesALotJudgedByThem(t *testing.T) {
	t.Parallel()
	b := browsertest.Start(t)
	t.Run("in English and kilograms", func(t *testing.T) {
		t.Parallel()
		p := atSettings(t, b, "en-CA", apitest.OpenLots(t, apitest.MetricOutfit))
		p.SeesUnder("Buyers' limits and own rules", "Add one")
		p.Sees("Start from")
		p.Writes("Standard for Honey: Annex")
		p.Sees("Fill it in")
		p.Reads("Lines about something else: 4.")
		writes(p, "Buyer", "Northgate")
		writes(p, "What you call these limits", "Northgate drums")
		writes(p, "The contract, order or letter that says so", "letter of May")
		writes(p, "Moisture at most", "wet")
		writes(p, "Price", "3.90")
		writes(p, "Currency, by its three letters", "CAD")
		writes(p, "above", "17.8")
		writes(p, "costs, for each kg", "0.10")
		p.Sees("Put it in the book")
		p.Reads("\"wet\" is not a number")
		writes(p, "Moisture at most", "17.5")
		p.Reads("17.9 % costs 0.10 CAD a kilogram: 300 kg bring 1,140.00 CAD.")
		p.Sees("Put it in the book")
		p.Reads("Verdict by Northgate drums, letter of May, version 1.")
		p.Sees("L-1")
		p.Sees("Northgate drums, letter of May, version 1")
		p.Reads("at most 17.5 %")
		p.Reads("17.6 ± 0.4")
	})
	t.Run("in Spanish and pounds", func(t *testing.T) {
		t.Parallel()
		p := atSettings(t, b, "es-ES", apitest.OpenLots(t, apitest.USOutfit))
		p.SeesUnder("Límites de compradores y normas propias", "Añadir")
		writes(p, "Cómo se llaman estos límites", "Tambores")
		writes(p, "El contrato, pedido o carta que lo dice", "NP-3")
		writes(p, "Humedad como máximo", "17,5")
		writes(p, "Precio", "1,90")
		writes(p, "Moneda, con sus tres letras", "USD")
		writes(p, "por encima de", "17,8")
		writes(p, "cuesta, por cada lb", "0,05")
		p.Sees("Calcularlo")
		p.Reads("17,9 % cuesta 0,05 USD por libra: 650 lb dan 1.202,50 USD.")
		p.Sees("Anotar en el libro")
		p.Reads("Tambores, NP-3, versión 1")
		p.Sees("L-1")
		p.Reads("no cumple")
	})
}

// atSettings gives somebody who never saw the pages a phone at the settings.
func atSettings(t *testing.T, b *browsertest.Browser, language string, h *apitest.LotHouse) *browsertest.Stranger {
	h.SignIn(t)
	d := b.Device(t, language)
	d.CutOff, d.WithoutGloves = false, true
	d.Resize(360, 780)
	d.SignIn(h.House)
	d.Open(d.At(h) + "/settings")
	return d.Stranger(h.House)
}

// writes touches the words over a field and writes in it, over what stands there.
func writes(p *browsertest.Stranger, over, words string) {
	p.T.Helper()
	p.Sees(over)
	p.Until(`document.activeElement.matches('input, select')`)
	p.Press("a", chromedp.ModifierCtrl)
	p.Writes(words)
}
