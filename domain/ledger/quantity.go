package ledger

import (
	"cmp"
	"math"
	"strconv"
	"strings"

	"pullbook/domain/standard"
)

// quantity is what a standard calls a figure of a reading, and its unit there.
type quantity struct{ parameter, unit string }

// quantities holds, by the name that a reading gives it, every figure that some
// standard limits.
var quantities = map[string]quantity{
	"hmf_mg_per_kg":                    {"hmf", "mg/kg"},
	"diastase_gothe":                   {"diastase", "Gothe scale"},
	"invertase_u_per_kg":               {"invertase", "U/kg"},
	"invertase_number":                 {"invertase_number", "invertase number (old unit)"},
	"colour_mm_pfund":                  {"colour_pfund", "mm Pfund"},
	"colour_od_560nm":                  {"colour_optical_density", "OD at 560 nm"},
	"conductivity_ms_per_cm":           {"electrical_conductivity", "mS/cm"},
	"free_acidity_meq_per_kg":          {"free_acidity", "meq/kg"},
	"acidity_ml_naoh_per_kg":           {"acidity", "mL of 1 mol/L NaOH per kg"},
	"acidity_as_formic_pct":            {"acidity_as_formic_acid", "%"},
	"fructose_plus_glucose_g_per_100g": {"fructose_plus_glucose", "g/100 g"},
	"fructose_to_glucose":              {"fructose_glucose_ratio", "ratio"},
	"reducing_sugars_g_per_100g":       {"reducing_sugars", "g/100 g"},
	"sucrose_g_per_100g":               {"sucrose", "g/100 g"},
	"maltose_g_per_100g":               {"maltose", "g/100 g"},
	"trehalulose_g_per_100g":           {"trehalulose", "g/100 g"},
	"c4_sugar_pct":                     {"c4_sugar", "%"},
	"delta13c_difference_permil":       {"delta13C_difference", "permil"},
	"foreign_oligosaccharides_pct":     {"foreign_oligosaccharides", "% peak area"},
	"insoluble_g_per_100g":             {"water_insoluble", "g/100 g"},
	"ash_g_per_100g":                   {"ash", "g/100 g"},
	"specific_gravity_27c":             {"specific_gravity_27C", "ratio"},
	"proline_mg_per_kg":                {"proline", "mg/kg"},
	"zinc_mg_per_kg":                   {"zinc", "mg/kg"},
	"tutin_mg_per_kg":                  {"tutin", "mg/kg"},
	"plate_count_cfu_per_g":            {"total_plate_count", "CFU/g"},
	"moulds_cfu_per_g":                 {"moulds", "CFU/g"},
	"yeast_per_g":                      {"osmophilic_yeast", "CFU/g"},
	"pollen_per_g":                     {"pollen_count", "per g"},
	"named_pollen_pct":                 {"monofloral_pollen", "% of pollen"},
	"phenyllactic_mg_per_kg":           {"3_phenyllactic_acid", "mg/kg"},
	"methoxyacetophenone_mg_per_kg":    {"2_methoxyacetophenone", "mg/kg"},
	"methoxybenzoic_mg_per_kg":         {"2_methoxybenzoic_acid", "mg/kg"},
	"hydroxyphenyllactic_mg_per_kg":    {"4_hydroxyphenyllactic_acid", "mg/kg"},
	"manuka_dna_cq":                    {"manuka_dna", "Cq"},
	"flavour_points":                   {"flavour_aroma_score", "points"},
	"defects_points":                   {"absence_of_defects_score", "points"},
	"clarity_points":                   {"clarity_score", "points"},
	"total_points":                     {"total_score", "points of 100"},
	"finest_sieve_mm":                  {"foreign_material_sieve", "mm opening"},
	"containers_below_grade_pct":       {"containers_below_grade", "% by count of lot"},
	"origin_share_error_points":        {"origin_share_tolerance", "percent points per share"},
	"grade_name_height_mm":             {"grade_name_height", "mm"},
}

// Said is what was measured and its unit, as people write them: "colour pfund" and
// "mm Pfund".
func (m Measured) Said() (name, unit string) {
	if m.Quantity == OwnQuantity {
		return cmp.Or(m.Label, words(m.Parameter)), m.Unit
	}
	if q, limited := quantities[m.Quantity]; limited {
		return strings.ReplaceAll(q.parameter, "_", " "), q.unit
	}
	return strings.ReplaceAll(m.Quantity, "_", " "), ""
}

// Results gives what a reading says in a standard's words: its figures and
// observations, but those that no standard limits. Container and composite are
// left to the caller, who knows what the reading is on. at gives, for each
// result, the pointer of the field it came from.
func (r *Reading) Results() (results []standard.Result, at []string) {
	if m := r.Moisture; m != nil {
		results = append(results, standard.Result{Parameter: "moisture", Unit: "%", Value: figure(m.Pct), StdUncertainty: uncertainty(m.Uncertainty())})
		at = append(at, "/moisture_pct")
	}
	for i, m := range r.Measured {
		q, limited := quantities[m.Quantity]
		own := m.Quantity == OwnQuantity
		if own {
			q, limited = quantity{m.Parameter, m.Unit}, true
		}
		if !limited {
			continue
		}
		results = append(results, standard.Result{
			Parameter: q.parameter, Unit: q.unit, Own: own, Label: m.Label, Value: figure(m.Value), LessThan: m.LessThan,
			StdUncertainty: uncertainty(m.StdUncertainty), Method: m.Method,
		})
		at = append(at, "/measured/"+strconv.Itoa(i))
	}
	for i, o := range r.Observed {
		results = append(results, standard.Result{Parameter: o.What, Value: o.Word, Own: o.Label != "" || !standard.IsKnown(o.What), Label: o.Label})
		at = append(at, "/observed/"+strconv.Itoa(i))
	}
	for i := range results {
		if id := r.InstrumentID; id != (ID{}) {
			results[i].InstrumentID = id.String()
		} else {
			results[i].InstrumentID = r.Laboratory
		}
	}
	return results, at
}

// figure writes a number as one would: to the fourth place after the point,
// since 17.4 worked out from a refractive index may be stored as
// 17.400000000000002 and would then pass a limit of 17.4.
func figure(x float64) string {
	return strconv.FormatFloat(math.Round(x*1e4)/1e4, 'f', -1, 64)
}

// Uncertainty is the standard uncertainty in points of moisture; nil where none was
// worked out.
func (m *MoistureReading) Uncertainty() *float64 {
	if m.StdUncertaintyPct == 0 && m.StdUncertaintyAsSent == nil {
		return nil
	}
	return &m.StdUncertaintyPct
}

// uncertainty leaves out what is not known.
func uncertainty(u *float64) string {
	if u == nil {
		return ""
	}
	return strconv.FormatFloat(math.Ceil(*u*1e6)/1e6, 'f', -1, 64)
}
