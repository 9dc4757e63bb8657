package ledger

// plausible is what a figure of a reading can be, and what honey seldom goes
// beyond, in the unit of the quantity's name. What cannot be is refused; what is
// unusual is stored and flagged.
type plausible struct {
	least, most float64
	low, high   float64
	// source is where the usual range comes from; the possible one is wider by
	// judgement (common practice), unless it is the end of a scale.
	source string
}

const (
	white1962     = "White et al. 1962, composition of American honeys (USDA bulletin 1261), range of 490 samples"
	crane1980     = "Crane 1980, table 4, range of 1,063 honeys"
	europe2004    = "Persano Oddo and Piro 2004, descriptive sheets of European unifloral honeys (from memory)"
	stingless2018 = "Nordin et al. 2018, review of 522 stingless bees' honeys (from memory)"
	widestLimit   = "the widest limit of a published rule set (domain/standard)"
	manuka2018    = "McDonald et al. 2018, markers of manuka honey (from memory)"
	endOfScale    = "the scale ends there"
	practice      = "common practice"
)

// plausibles holds each quantity that a reading may have beside its moisture.
var plausibles = map[string]plausible{
	// Honeys kept warm for years had 1,132 (Khalil et al. 2010) and 1,426 mg/kg.
	"hmf_mg_per_kg":                    {0, 5000, 0, 80, widestLimit},
	"diastase_gothe":                   {0, 200, 3, 60, europe2004},
	"invertase_u_per_kg":               {0, 2000, 0, 350, europe2004},
	"invertase_number":                 {0, 300, 0, 50, europe2004},
	"colour_mm_pfund":                  {0, 140, 0, 140, endOfScale},
	"colour_od_560nm":                  {0, 6, 0, 6, practice},
	"conductivity_ms_per_cm":           {0, 10, 0.05, 2.5, europe2004},
	"free_acidity_meq_per_kg":          {0, 1000, 0, 80, widestLimit},
	"acidity_ml_naoh_per_kg":           {0, 1000, 0, 80, practice},
	"acidity_as_formic_pct":            {0, 5, 0, 0.4, practice},
	"ph":                               {2, 9, 3, 6.5, white1962},
	"fructose_plus_glucose_g_per_100g": {0, 95, 42, 85, crane1980},
	"fructose_to_glucose":              {0.2, 5, 0.7, 2, white1962},
	"reducing_sugars_g_per_100g":       {0, 95, 50, 85, white1962},
	"sucrose_g_per_100g":               {0, 80, 0, 15, widestLimit},
	"maltose_g_per_100g":               {0, 50, 0, 16, white1962},
	"trehalulose_g_per_100g":           {0, 80, 0, 50, stingless2018},
	"insoluble_g_per_100g":             {0, 20, 0, 0.5, widestLimit},
	"ash_g_per_100g":                   {0, 5, 0, 1.2, white1962},
	"proline_mg_per_kg":                {0, 10_000, 0, 3000, europe2004},
	"zinc_mg_per_kg":                   {0, 1000, 0, 50, practice},
	// Comb honey that poisoned people in 2008 had about 50 mg/kg (from memory).
	"tutin_mg_per_kg":               {0, 1000, 0, 0.7, widestLimit},
	"yeast_per_g":                   {0, 1e9, 0, 1e5, practice},
	"plate_count_cfu_per_g":         {0, 1e9, 0, 1e5, practice},
	"moulds_cfu_per_g":              {0, 1e9, 0, 1e4, practice},
	"pollen_per_g":                  {0, 1e7, 0, 1e5, "Maurizio's classes of pollen counts: the richest begins at 100,000 (from memory)"},
	"named_pollen_pct":              {0, 100, 0, 100, endOfScale},
	"c4_sugar_pct":                  {0, 100, 0, 7, widestLimit},
	"delta13c_difference_permil":    {-20, 20, -10, 5, "plants of the C3 and C4 ways are some 14 permil apart (from memory)"},
	"foreign_oligosaccharides_pct":  {0, 100, 0, 100, endOfScale},
	"specific_gravity_27c":          {1.2, 1.55, 1.35, 1.46, widestLimit},
	"phenyllactic_mg_per_kg":        {0, 20_000, 0, 4000, manuka2018},
	"methoxyacetophenone_mg_per_kg": {0, 1000, 0, 100, manuka2018},
	"methoxybenzoic_mg_per_kg":      {0, 1000, 0, 100, manuka2018},
	"hydroxyphenyllactic_mg_per_kg": {0, 1000, 0, 100, manuka2018},
	"manuka_dna_cq":                 {0, 60, 0, 60, endOfScale},
	"flavour_points":                {0, 50, 0, 50, endOfScale},
	"defects_points":                {0, 40, 0, 40, endOfScale},
	"clarity_points":                {0, 10, 0, 10, endOfScale},
	"total_points":                  {0, 100, 0, 100, endOfScale},
	"finest_sieve_mm":               {0, 50, 0, 10, practice},
	"containers_below_grade_pct":    {0, 100, 0, 100, endOfScale},
	"origin_share_error_points":     {0, 100, 0, 100, endOfScale},
	"grade_name_height_mm":          {0, 1000, 0, 200, practice},
	"water_activity":                {0, 1, 0.45, 0.75, "surveys in domain/honey/README.md; 0.76 in stingless bees' honey"},
	"density_kg_per_l":              {1, 2, 1.3, 1.5, "domain/honey/README.md, for 13 to 30 % of moisture from 0 to 60 C"},
	"temperature_c":                 {-40, 95, -25, 60, practice},
}

// Plausible is what a quantity of a reading can be, and what honey seldom goes
// beyond; false where there is no such quantity.
func Plausible(quantity string) (least, most, low, high float64, known bool) {
	p, known := plausibles[quantity]
	return p.least, p.most, p.low, p.high, known
}

func (p plausible) possible(v float64) bool { return p.least <= v && v <= p.most }

// usual reports whether honey has such a figure often enough. Of "less than v" only
// that v is far too high can be said, and nothing of it is odd.
func (p plausible) usual(m Measured) bool {
	return m.LessThan || p.low <= m.Value && m.Value <= p.high
}

// slipped is the figure that was meant where the decimal point slipped, or the unit
// is a power of ten off; false where none of them is usual.
func (p plausible) slipped(v float64) (meant float64, ok bool) {
	for _, by := range [...]float64{10, 100, 1000, 0.1, 0.01} {
		if x := v / by; x != 0 && p.low <= x && x <= p.high {
			return x, true
		}
	}
	return 0, false
}
