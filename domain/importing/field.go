package importing

import "slices"

// Field is what a column can hold.
type Field string

// The fields.
const (
	FieldDate          Field = "date"
	FieldTime          Field = "time"
	FieldName          Field = "name"
	FieldRegistration  Field = "registration"
	FieldLatitude      Field = "latitude_deg"
	FieldLongitude     Field = "longitude_deg"
	FieldNote          Field = "note"
	FieldYard          Field = "yard"
	FieldSupers        Field = "supers"
	FieldSuperKind     Field = "super_kind"
	FieldHivesWorked   Field = "hives_worked"
	FieldGross         Field = "gross"
	FieldTare          Field = "tare"
	FieldNet           Field = "net"
	FieldRoom          Field = "room"
	FieldTank          Field = "tank"
	FieldHoney         Field = "honey"
	FieldWax           Field = "wax"
	FieldFrames        Field = "frames_per_side"
	FieldLot           Field = "lot"
	FieldContainer     Field = "container"
	FieldContainerKind Field = "container_kind"
	FieldSeal          Field = "seal"
	FieldProduct       Field = "product"
	FieldPoint         Field = "point"
	FieldInstrument    Field = "instrument"
	FieldLaboratory    Field = "laboratory"
	FieldMoisture      Field = "moisture_pct"
	FieldRefractive    Field = "refractive_index"
	FieldBrix          Field = "brix_deg"
	FieldSampleC       Field = "sample_temperature"
	FieldHMF           Field = "hmf_mg_per_kg"
	FieldHMFMethod     Field = "hmf_method"
	FieldDiastase      Field = "diastase_gothe"
	FieldColour        Field = "colour_mm_pfund"
	FieldConductivity  Field = "conductivity_ms_per_cm"
	FieldFreeAcidity   Field = "free_acidity_meq_per_kg"
	FieldPH            Field = "ph"
	// FieldOwn is a parameter that a rule set of the outfit names; the column says which.
	FieldOwn         Field = "own_parameter"
	FieldTemperature Field = "temperature"
	FieldHumidity    Field = "humidity_pct"
	FieldHives       Field = "hives"
	FieldCountName   Field = "count_name"
	FieldFromTank    Field = "from_tank"
	FieldToTank      Field = "to_tank"
	FieldRun         Field = "run"
	FieldPulled      Field = "pulled_on"
	FieldBuyer       Field = "buyer"
	FieldContainers  Field = "containers"
	FieldReference   Field = "reference"
)

// measure is what sort of value a field holds.
type measure int

const (
	words measure = iota
	names
	dates
	clocks
	counts
	figures
	masses
	temperatures
)

// fieldInfo is what is known of a field: how its values are read, what headings it
// goes by, and in which tables it has a place.
type fieldInfo struct {
	field    Field
	measure  measure
	noun     Noun
	headings []string
	in       []Kind
}

// fields lists all fields.
var fields = inTongues(slices.Concat(houseFields, yearFields))

// houseFields are those of the tables that most houses have. Headings are as sheet.Plain has
// them, without units, in English and Spanish; common practice. tongues adds others.
var houseFields = []fieldInfo{
	{FieldDate, dates, "", []string{"date", "day", "when", "date time", "datetime", "timestamp", "time stamp", "date and time", "fecha", "dia", "cuando", "fecha hora", "fecha y hora", "pulled", "date pulled", "date filled", "filled on"},
		[]Kind{Pulls, Runs, Readings, Lots, Containers, TemperatureLogs}},
	{FieldTime, clocks, "", []string{"time", "clock", "hour", "hora"}, []Kind{Pulls, Runs, Readings, Lots, Containers, TemperatureLogs}},
	{FieldName, words, "", []string{"name", "yard", "yard name", "apiary", "nombre", "colmenar", "apiario", "site", "location"}, []Kind{Yards}},
	{FieldName, words, "", []string{"run", "name", "batch", "run name", "tanda", "nombre", "carga", "extraction"}, []Kind{Runs}},
	{FieldRegistration, words, "", []string{"registration", "registration number", "reg no", "reg", "registro", "rega", "numero de registro", "site id"}, []Kind{Yards}},
	{FieldLatitude, figures, "", []string{"latitude", "lat", "latitud"}, []Kind{Yards}},
	{FieldLongitude, figures, "", []string{"longitude", "long", "lon", "lng", "longitud"}, []Kind{Yards}},
	{FieldYard, names, NounYard, []string{"yard", "apiary", "site", "yard name", "location", "place", "lugar", "ubicacion", "colmenar", "apiario", "asentamiento"}, []Kind{Pulls}},
	{FieldSupers, counts, "", []string{"supers", "boxes", "number of supers", "no of supers", "count", "super count", "alzas", "cajas", "numero de alzas"}, []Kind{Pulls}},
	{FieldSuperKind, names, NounSuperKind, []string{"super kind", "kind", "size", "box", "box size", "super", "super type", "type", "tipo", "tipo de alza", "alza", "tamano"}, []Kind{Pulls}},
	{FieldHivesWorked, counts, "", []string{"hives", "hives worked", "colonies", "colmenas", "number of hives"}, []Kind{Pulls}},
	{FieldGross, masses, "", []string{"gross", "gross weight", "gross wt", "full weight", "weight", "weighed", "bruto", "peso bruto", "peso"}, []Kind{Pulls, Containers}},
	{FieldRoom, names, NounRoom, []string{"room", "hot room", "cuarto", "cuarto caliente", "sala"}, []Kind{Pulls, TemperatureLogs}},
	{FieldTank, names, NounTank, []string{"tank", "into tank", "from tank", "tank name", "tanque", "deposito", "bidon madurador", "madurador"}, []Kind{Runs, Readings, Containers, TemperatureLogs}},
	{FieldHoney, masses, "", []string{"honey", "honey out", "extracted", "net", "net weight", "out", "yield", "weight", "miel", "peso neto", "neto", "extraido"}, []Kind{Runs}},
	{FieldWax, masses, "", []string{"wax", "cappings", "cappings wax", "cera", "operculos"}, []Kind{Runs}},
	{FieldFrames, counts, "", []string{"frames", "frames per side", "cuadros", "cuadros por lado"}, []Kind{Runs}},
	{FieldLot, words, "", []string{"lot", "lot code", "code", "lot no", "lot number", "batch", "lote", "codigo", "codigo de lote", "numero de lote"}, []Kind{Lots}},
	{FieldLot, names, NounLot, []string{"lot", "lot code", "lot no", "lot number", "batch", "lote", "codigo de lote", "numero de lote"}, []Kind{Readings, Containers}},
	{FieldProduct, words, "", []string{"product", "honey", "floral source", "variety", "producto", "miel", "variedad", "floracion"}, []Kind{Lots}},
	{FieldRoom, names, NounRoom, []string{"store", "storage", "room", "place", "almacen", "bodega"}, []Kind{Lots}},
	{FieldContainer, words, "", []string{"container", "drum", "drum no", "drum number", "number", "no", "container no", "bucket", "pail", "barrel", "tambor", "numero", "envase", "bidon", "numero de tambor", "n"}, []Kind{Containers}},
	{FieldContainer, names, NounContainer, []string{"container", "drum", "drum no", "drum number", "container no", "bucket", "barrel", "tambor", "envase", "bidon", "numero de tambor"}, []Kind{Readings}},
	{FieldContainerKind, names, NounContainerKind, []string{"container kind", "kind", "type", "drum type", "container type", "tipo", "tipo de envase"}, []Kind{Containers}},
	{FieldTare, masses, "", []string{"tare", "tare weight", "empty", "empty weight", "tara"}, []Kind{Containers}},
	{FieldNet, masses, "", []string{"net", "net weight", "net wt", "honey", "neto", "peso neto", "miel"}, []Kind{Containers}},
	{FieldSeal, words, "", []string{"seal", "seal no", "seal number", "precinto", "sello"}, []Kind{Containers}},
	{FieldPoint, words, "", []string{"point", "sampled at", "where", "position", "punto", "posicion", "lugar"}, []Kind{Readings}},
	{FieldInstrument, names, NounInstrument, []string{"instrument", "refractometer", "meter", "instrumento", "refractometro"}, []Kind{Readings}},
	{FieldLaboratory, words, "", []string{"laboratory", "lab", "laboratorio"}, []Kind{Readings}},
	{FieldMoisture, figures, "", []string{"moisture", "moist", "water", "water content", "humedad", "agua", "moisture content"}, []Kind{Readings}},
	{FieldRefractive, figures, "", []string{"refractive index", "ri", "nd", "indice de refraccion"}, []Kind{Readings}},
	{FieldBrix, figures, "", []string{"brix", "degrees brix", "grados brix"}, []Kind{Readings}},
	{FieldSampleC, temperatures, "", []string{"sample temperature", "sample temp", "temp", "temperature", "honey temp", "temperatura", "temperatura de la muestra"}, []Kind{Readings}},
	{FieldHMF, figures, "", []string{"hmf", "hmf mg"}, []Kind{Readings}},
	{FieldHMFMethod, words, "", []string{"hmf method", "method", "metodo", "metodo hmf"}, []Kind{Readings}},
	{FieldDiastase, figures, "", []string{"diastase", "dn", "diastase number", "diastasa"}, []Kind{Readings}},
	{FieldColour, figures, "", []string{"colour", "color", "pfund", "mm pfund", "color pfund", "colour mm pfund"}, []Kind{Readings}},
	{FieldConductivity, figures, "", []string{"conductivity", "electrical conductivity", "conductividad", "conductivity ms cm"}, []Kind{Readings}},
	{FieldFreeAcidity, figures, "", []string{"free acidity", "acidity", "acidez", "acidez libre"}, []Kind{Readings}},
	{FieldPH, figures, "", []string{"ph"}, []Kind{Readings}},
	{FieldCell, words, "", nil, []Kind{Pulls, Readings, TemperatureLogs, HiveCounts}}, // Wide says what it is
	{FieldOwn, figures, "", nil, []Kind{Readings}}, // known by what the rule set calls it
	{FieldTemperature, temperatures, "", []string{"temperature", "temp", "t", "temperatura", "channel 1", "ch1", "sensor", "reading", "value"}, []Kind{TemperatureLogs}},
	{FieldHumidity, figures, "", []string{"humidity", "rh", "relative humidity", "humedad", "humedad relativa", "hr"}, []Kind{TemperatureLogs}},
	{FieldNote, words, "", []string{"note", "notes", "comment", "comments", "remarks", "nota", "notas", "comentario", "comentarios", "observaciones"}, []Kind{Yards, Pulls, Runs, Readings, Lots, Containers}},
}

// FieldsOf lists the fields that a kind of table has.
func FieldsOf(kind Kind) (out []Field) {
	for _, f := range fields {
		if f.isIn(kind) {
			out = append(out, f.field)
		}
	}
	return out
}

func (f *fieldInfo) isIn(kind Kind) bool {
	for _, k := range f.in {
		if k == kind {
			return true
		}
	}
	return false
}

func infoOf(kind Kind, field Field) *fieldInfo {
	for i := range fields {
		if fields[i].field == field && fields[i].isIn(kind) {
			return &fields[i]
		}
	}
	return nil
}

// NounOf is what the values of a field name in a kind of table; empty where they
// name nothing.
func NounOf(kind Kind, field Field) Noun {
	if kind == Yards && field == FieldName {
		return NounYard // of which it is asked whether it is one that the outfit has
	}
	for _, f := range fields {
		if f.field == field && f.isIn(kind) {
			return f.noun
		}
	}
	return ""
}
