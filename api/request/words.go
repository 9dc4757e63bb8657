package request

import (
	"strings"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// quantityLabel is what a laboratory's quantity is called, with its unit.
var quantityLabel = map[string]string{
	"acidity_as_formic_pct":            "acidity as formic, %",
	"acidity_ml_naoh_per_kg":           "acidity, mL NaOH/kg",
	"ash_g_per_100g":                   "ash, g/100 g",
	"c4_sugar_pct":                     "C4 sugar, %",
	"clarity_points":                   "clarity, points",
	"colour_mm_pfund":                  "colour, mm Pfund",
	"colour_od_560nm":                  "colour, optical density at 560 nm",
	"conductivity_ms_per_cm":           "conductivity, mS/cm",
	"containers_below_grade_pct":       "containers below grade, %",
	"defects_points":                   "defects, points",
	"delta13c_difference_permil":       "delta 13C difference, per mille",
	"density_kg_per_l":                 "density, kg/L",
	"diastase_gothe":                   "diastase, Gothe",
	"finest_sieve_mm":                  "finest sieve, mm",
	"flavour_points":                   "flavour, points",
	"foreign_oligosaccharides_pct":     "foreign oligosaccharides, %",
	"free_acidity_meq_per_kg":          "free acidity, meq/kg",
	"fructose_plus_glucose_g_per_100g": "fructose and glucose, g/100 g",
	"fructose_to_glucose":              "fructose to glucose",
	"grade_name_height_mm":             "height of the grade name, mm",
	"hmf_mg_per_kg":                    "HMF, mg/kg",
	"hydroxyphenyllactic_mg_per_kg":    "4-hydroxyphenyllactic acid, mg/kg",
	"insoluble_g_per_100g":             "insoluble matter, g/100 g",
	"invertase_number":                 "invertase number",
	"invertase_u_per_kg":               "invertase, U/kg",
	"maltose_g_per_100g":               "maltose, g/100 g",
	"manuka_dna_cq":                    "manuka pollen DNA, Cq",
	"methoxyacetophenone_mg_per_kg":    "2'-methoxyacetophenone, mg/kg",
	"methoxybenzoic_mg_per_kg":         "2-methoxybenzoic acid, mg/kg",
	"moulds_cfu_per_g":                 "moulds, CFU/g",
	"named_pollen_pct":                 "the named pollen, %",
	"origin_share_error_points":        "error of the stated origin shares, points",
	"ph":                               "pH",
	"phenyllactic_mg_per_kg":           "3-phenyllactic acid, mg/kg",
	"plate_count_cfu_per_g":            "plate count, CFU/g",
	"pollen_per_g":                     "pollen grains per g",
	"proline_mg_per_kg":                "proline, mg/kg",
	"reducing_sugars_g_per_100g":       "reducing sugars, g/100 g",
	"specific_gravity_27c":             "specific gravity at 27 °C",
	"sucrose_g_per_100g":               "sucrose, g/100 g",
	"temperature_c":                    "temperature, °C",
	"total_points":                     "all points",
	"trehalulose_g_per_100g":           "trehalulose, g/100 g",
	"tutin_mg_per_kg":                  "tutin, mg/kg",
	"water_activity":                   "water activity",
	"yeast_per_g":                      "yeasts per g",
	"zinc_mg_per_kg":                   "zinc, mg/kg",
}

// choiceLabel is what people call a choice whose name in the contract is for
// programs.
var choiceLabel = map[string]string{
	"<": "less than", "<=": "at most", ">=": "at least", ">": "more than",
	"exempt": "exempt from the limit", "permits": "allowed, nothing to fail",
	"limits": "every limit has to be met", "grades": "the best grade met counts", "classes": "the lot falls into a class",
	"own":      "a parameter of a rule set of yours",
	"absolute": "no rounding, every digit counts", "half_even": "halves to the even digit", "half_up": "halves upward",
}

// ChoiceOf returns the catalogue's key for a value that the contract offers to choose.
func ChoiceOf(value string) string {
	for _, labels := range []map[string]string{quantityLabel, choiceLabel} {
		if label, ok := labels[value]; ok {
			return "choice|" + label
		}
	}
	return "choice|" + strings.ReplaceAll(value, "_", " ")
}

// SayMeasured is what a figure of a reading is of, as its choice in a form is called.
func SayMeasured(m ledger.Measured) message.Text {
	if m.Quantity == ledger.OwnQuantity {
		return message.F("%s, %s", m.SaidName(), m.Unit)
	}
	return message.F(ChoiceOf(m.Quantity))
}

// SayObserved is what was looked at and its answer; the outfit's own as they were given.
func SayObserved(o ledger.Observed) (what, word message.Text) {
	if o.Label != "" {
		return message.Verbatim(o.Label), standard.SayWord(o.Word)
	}
	return message.F(ChoiceOf(o.What)), message.F(ChoiceOf(o.Word))
}

// Said are texts as programs get them.
func Said(texts []message.Text) []string { return wire.Each(texts, message.Text.String) }
