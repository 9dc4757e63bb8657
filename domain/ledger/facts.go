package ledger

import (
	"math"
	"time"

	"pullbook/domain/standard"
)

// HiveCount is a named, dated count of the hives of a yard: yield per hive
// means nothing until one says which hives.
type HiveCount struct {
	YardID ID `json:"yard_id"`
	// Name says what was counted: "main flow", "after winter".
	Name  string `json:"name"`
	Hives int    `json:"hives"`
}

// SuperCount is a number of boxes of one kind.
type SuperCount struct {
	SuperKindID ID  `json:"super_kind_id"`
	Supers      int `json:"supers"`
}

// Pull is supers taken off one yard on one day.
type Pull struct {
	YardID      ID           `json:"yard_id"`
	Supers      []SuperCount `json:"supers"`
	HivesWorked int          `json:"hives_worked,omitempty"`
	// GrossG is what the full boxes weighed together; 0 where not weighed.
	GrossG int64 `json:"gross_g,omitempty"`
	// RoomID is the hot room they stand in.
	RoomID ID     `json:"room_id,omitzero"`
	Note   string `json:"note,omitempty"`
}

// Run is a stretch of extracting on the line. What went in and what came out
// are entries of their own that name it.
type Run struct {
	Name string `json:"name"`
	// FramesPerSide is what the extractor takes on each side: 30 for sixty
	// frames.
	FramesPerSide int    `json:"frames_per_side"`
	Note          string `json:"note,omitempty"`
}

// RunSupers is boxes of a pull that went into a run.
type RunSupers struct {
	RunID  ID `json:"run_id"`
	PullID ID `json:"pull_id"`
	SuperCount
}

// Load is one filling of the extractor.
type Load struct {
	RunID       ID     `json:"run_id"`
	Load        int    `json:"load"`
	FramesLeft  int    `json:"frames_left"`
	FramesRight int    `json:"frames_right"`
	Note        string `json:"note,omitempty"`
}

// RunEnd closes a run with what came out beside the honey.
type RunEnd struct {
	RunID ID `json:"run_id"`
	// WaxG is cappings wax, drained.
	WaxG int64 `json:"wax_g,omitempty"`
	// EmptiesG is what the emptied boxes weighed together; 0 where not weighed.
	EmptiesG int64 `json:"empties_g,omitempty"`
	// SetAsideFrames is comb put by: to cull, to give back, to melt.
	SetAsideFrames int    `json:"set_aside_frames,omitempty"`
	Note           string `json:"note,omitempty"`
}

// PlaceKind is the kind of thing that honey is in, comes from or goes to.
type PlaceKind string

const (
	PlaceRun       PlaceKind = "run"
	PlaceTank      PlaceKind = "tank"
	PlaceContainer PlaceKind = "container"
	PlaceLot       PlaceKind = "lot"
	PlacePull      PlaceKind = "pull"
	PlaceYard      PlaceKind = "yard"
	PlaceRoom      PlaceKind = "room"
	PlaceBuyer     PlaceKind = "buyer"
	PlaceWaste     PlaceKind = "waste"
)

// Place names a run, tank, container or the like. Waste has no ID.
type Place struct {
	Kind PlaceKind `json:"kind"`
	ID   ID        `json:"id,omitzero"`
}

// Movement is honey going from a run, tank or container to a tank, a container
// or to waste.
type Movement struct {
	From Place `json:"from"`
	To   Place `json:"to"`
	// MassG is 0 only when a container is emptied whole.
	MassG int64  `json:"mass_g"`
	Note  string `json:"note,omitempty"`
}

// Stocktake sets a tank to what a dip or a scale says; the difference to the
// book is booked as gained or lost.
type Stocktake struct {
	TankID ID `json:"tank_id"`
	// Method is "dip" or "scale".
	Method string `json:"method"`
	MassG  int64  `json:"mass_g"`
	// MassFromDip is true where MassG was worked out from the dip.
	MassFromDip bool `json:"mass_from_dip,omitempty"`
	// UncertaintyG is the standard uncertainty of MassG; 0 where not known.
	UncertaintyG int64    `json:"uncertainty_g,omitempty"`
	DepthCM      *float64 `json:"depth_cm,omitempty"`
	FoamCM       *float64 `json:"foam_cm,omitempty"`
	TemperatureC *float64 `json:"temperature_c,omitempty"`
	Note         string   `json:"note,omitempty"`
}

// Wash says that a tank was emptied and washed: nothing of what it held is in
// what it holds next.
type Wash struct {
	TankID ID     `json:"tank_id"`
	With   string `json:"with,omitempty"`
	Note   string `json:"note,omitempty"`
}

// Lot is honey to be packed into containers under one code.
type Lot struct {
	Code    string `json:"code"`
	Product string `json:"product,omitempty"`
	// StoreID is the store its containers stand in.
	StoreID ID     `json:"store_id,omitzero"`
	Note    string `json:"note,omitempty"`
	// Declares is what the outfit declares about it, by attribute: its kinds,
	// the climate it comes from, how it was taken from the comb.
	Declares standard.Declaration `json:"declares,omitempty"`
}

// Fill is a container of a lot filled from a tank. The container is known by
// the ID of this entry.
type Fill struct {
	LotID           ID     `json:"lot_id"`
	TankID          ID     `json:"tank_id"`
	ContainerKindID ID     `json:"container_kind_id"`
	Container       string `json:"container"`
	TareG           int64  `json:"tare_g"`
	GrossG          int64  `json:"gross_g"`
	Seal            string `json:"seal,omitempty"`
	Note            string `json:"note,omitempty"`
}

// NetG is the honey in the container, in grams.
func (f *Fill) NetG() int64 { return f.GrossG - f.TareG }

// Point is where in a holder a sample was drawn.
type Point string

const (
	PointTop    Point = "top"
	PointMiddle Point = "middle"
	PointGate   Point = "gate"
	PointBottom Point = "bottom"
	PointCore   Point = "core"
	PointMixed  Point = "mixed"
)

// MoistureReading is what a refractometer showed and what that means.
type MoistureReading struct {
	// Scale is "moisture", "refractive_index" or "brix".
	Scale string `json:"scale"`
	// AsRead is the figure in that scale, as the instrument showed it.
	AsRead float64 `json:"as_read"`
	// SampleC is the sample's temperature in degrees Celsius.
	SampleC *float64 `json:"sample_temperature_c,omitempty"`
	// CompensatedAsSent is set where the reading itself said whether it was
	// corrected for the temperature; Compensated is what was gone by.
	CompensatedAsSent *bool `json:"compensated_as_sent,omitempty"`
	Compensated       bool  `json:"compensated"`
	// Pct is the moisture at 20 C, percent by mass.
	Pct float64 `json:"moisture_pct"`
	// StdUncertaintyPct is its standard uncertainty in points of moisture.
	StdUncertaintyPct float64 `json:"std_uncertainty_pct"`
	// StdUncertaintyAsSent is the laboratory's own, in points; nil where it says none.
	StdUncertaintyAsSent *float64 `json:"std_uncertainty_as_sent,omitempty"`
	// Formula names how Pct was had from AsRead.
	Formula string `json:"formula"`
}

// Measured is one other figure of a reading.
type Measured struct {
	// Quantity is its name with its unit: "hmf_mg_per_kg"; OwnQuantity where a rule set of
	// the outfit names it.
	Quantity string `json:"quantity"`
	// Parameter and Unit are of OwnQuantity; the book writes down what the rule set calls it.
	Parameter string  `json:"parameter,omitempty"`
	Unit      string  `json:"unit,omitempty"`
	Label     string  `json:"label,omitempty"`
	Value     float64 `json:"value"`
	// StdUncertainty is of Value, in its unit; nil where the laboratory does not say it.
	StdUncertainty *float64 `json:"std_uncertainty,omitempty"`
	// LessThan is true where the laboratory reported "less than" Value.
	LessThan bool `json:"less_than,omitempty"`
	// LimitOfQuantification is the least that the laboratory can measure so, in the unit of
	// Value; nil where it does not say.
	LimitOfQuantification *float64 `json:"limit_of_quantification,omitempty"`
	Method                string   `json:"method,omitempty"`
}

// leastSD stands for an uncertainty of zero where 0 asks for the usual one.
const leastSD = 1e-9

// SD is the standard uncertainty for what takes 0 as not known: above 0 where it is
// stated, though it be nothing.
func (m Measured) SD() float64 {
	if m.StdUncertainty == nil {
		return 0
	}
	return max(*m.StdUncertainty, leastSD)
}

// Observed is what was looked at and is answered by a word: fermentation,
// "absent".
type Observed struct {
	What string `json:"what"`
	Word string `json:"word"`
	// Label is what the outfit calls what a rule set of its own names; the book writes it down.
	Label string `json:"label,omitempty"`
}

// Reading is something measured on a pull, run, tank, lot or container.
type Reading struct {
	On    Place `json:"on"`
	Point Point `json:"point,omitempty"`
	// InstrumentID is the zero ID where a laboratory measured.
	InstrumentID ID     `json:"instrument_id,omitzero"`
	Laboratory   string `json:"laboratory,omitempty"`
	// What the laboratory's certificate says of itself.
	CertificateNumber string           `json:"certificate_number,omitempty"`
	Accreditation     string           `json:"accreditation,omitempty"`
	AnalysedOn        standard.Date    `json:"analysed_on,omitempty"`
	Moisture          *MoistureReading `json:"moisture,omitempty"`
	Measured          []Measured       `json:"measured,omitempty"`
	Observed          []Observed       `json:"observed,omitempty"`
	// ContainersSampled is how many containers went into a sample of a lot; 0
	// where not known.
	ContainersSampled int    `json:"containers_sampled,omitempty"`
	Granulated        bool   `json:"granulated,omitempty"`
	Note              string `json:"note,omitempty"`
}

// Calibration is a check of an instrument against a known value.
type Calibration struct {
	InstrumentID ID     `json:"instrument_id"`
	Reference    string `json:"reference"`
	// Expected, AsFound and AsLeft are in the instrument's own scale.
	Expected  float64 `json:"expected"`
	AsFound   float64 `json:"as_found"`
	AsLeft    float64 `json:"as_left"`
	Tolerance float64 `json:"tolerance"`
	Note      string  `json:"note,omitempty"`
}

// Good reports whether the instrument was found within its tolerance.
func (c *Calibration) Good() bool { return c.within(c.AsFound) }

// LeftWrong reports whether it was not put right: what is read with it from then
// on is off too.
func (c *Calibration) LeftWrong() bool { return !c.within(c.AsLeft) }

// within leaves room for 20.1 - 19.9 being a little more than 0.2 in binary.
func (c *Calibration) within(shown float64) bool {
	return math.Abs(shown-c.Expected) <= c.Tolerance+1e-9
}

// TemperaturePoint is a temperature at an instant.
type TemperaturePoint struct {
	At           time.Time `json:"at"`
	TemperatureC float64   `json:"temperature_c"`
	HumidityPct  *float64  `json:"humidity_pct,omitempty"`
}

// TemperatureLog is how warm a tank, hot room or store was over time: points
// from a logger, or a temperature held from one instant to another.
type TemperatureLog struct {
	On     Place              `json:"on"`
	Points []TemperaturePoint `json:"points"`
	// Held is true where the temperature stayed at the first point's value
	// until the second's time (a set point), rather than moving between points.
	Held bool `json:"held,omitempty"`
	// WaterG is water emptied from the dehumidifier over that time.
	WaterG int64  `json:"water_g,omitempty"`
	Note   string `json:"note,omitempty"`
}

// Dispatch is containers leaving for a buyer.
type Dispatch struct {
	BuyerID ID `json:"buyer_id"`
	// Containers are the IDs of the fills.
	Containers []ID `json:"containers"`
	// PreparedID names what a manager prepared of it; zero where it was sent off without.
	PreparedID ID `json:"prepared_id,omitzero"`
	// Market is the published rule set of where the honey goes, by its id or the family of
	// its editions; where empty, the buyer's.
	Market string `json:"market,omitempty"`
	// Override lets go what does not meet a rule set that it is held to, or is recorded
	// after it left, on a manager's word; Note then says why.
	Override bool `json:"override,omitempty"`
	// BeforeBook says that it left before the book began: it is not judged, and needs no
	// release. Note says how that is known.
	BeforeBook bool   `json:"before_book,omitempty"`
	Reference  string `json:"reference,omitempty"`
	Note       string `json:"note,omitempty"`

	// What the book works out.
	Judged []Leaving `json:"judged,omitempty"`
}

// Leaving is how the containers of one lot stood on the day they left against one rule set
// that they were held to.
type Leaving struct {
	LotID ID `json:"lot_id"`
	// ID and Version are as in RuleSetResult; Name says them to people.
	ID      string `json:"id"`
	Name    string `json:"name"`
	Version int    `json:"version,omitempty"`
	Outcome string `json:"outcome"`
	// NotMet are the lines that keep the containers from meeting it.
	NotMet []LeavingLine `json:"not_met,omitempty"`
}

// LeavingLine is one line of a rule set that containers do not meet.
type LeavingLine struct {
	Parameter string `json:"parameter"`
	// Label is what people call a parameter of the outfit's own.
	Label   string `json:"label,omitempty"`
	Outcome string `json:"outcome"`
	// Containers are those that are outside by themselves, by number.
	Containers []string `json:"containers,omitempty"`
	// MeasureAgain is true where it was measured, and time may have taken it past the limit.
	MeasureAgain bool   `json:"measure_again,omitempty"`
	Sentence     string `json:"sentence"`
}

// Acceptance settles a flag without a correction: it is so, and this is why.
type Acceptance struct {
	EntryID ID   `json:"entry_id"`
	Flag    Code `json:"flag"`
	// With are the other entries of the same event that it settles too, as the book had
	// them when it was recorded; see Flag.With. The book works them out.
	With []ID `json:"with,omitempty"`
}

// Withdrawal takes back the entry it replaces, and all that it was before.
type Withdrawal struct {
	// Takes is what is asked for, TakesEntry or TakesCorrection; empty is TakesEntry. No book
	// keeps it: what stands after a correction was taken back is recorded instead.
	Takes string `json:"takes,omitempty"`
}

func (*HiveCount) Kind() Kind      { return KindHiveCount }
func (*Pull) Kind() Kind           { return KindPull }
func (*Run) Kind() Kind            { return KindRun }
func (*RunSupers) Kind() Kind      { return KindRunSupers }
func (*Load) Kind() Kind           { return KindLoad }
func (*RunEnd) Kind() Kind         { return KindRunEnd }
func (*Movement) Kind() Kind       { return KindMovement }
func (*Stocktake) Kind() Kind      { return KindStocktake }
func (*Wash) Kind() Kind           { return KindWash }
func (*Lot) Kind() Kind            { return KindLot }
func (*Fill) Kind() Kind           { return KindFill }
func (*Reading) Kind() Kind        { return KindReading }
func (*Calibration) Kind() Kind    { return KindCalibration }
func (*TemperatureLog) Kind() Kind { return KindTemperatureLog }
func (*Dispatch) Kind() Kind       { return KindDispatch }
func (*Acceptance) Kind() Kind     { return KindAcceptance }
func (*Withdrawal) Kind() Kind     { return KindWithdrawal }
