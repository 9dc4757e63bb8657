package ledger

import (
	"time"

	"pullbook/domain/message"
)

// Season is a named span of dates of an outfit. Both dates belong to it, in
// the outfit's own time zone.
type Season struct {
	Name  string `json:"name"`
	First Date   `json:"first"`
	Last  Date   `json:"last"`
}

// Yard is a place where hives stand.
type Yard struct {
	Name         string `json:"name"`
	Registration string `json:"registration,omitempty"`
	// Country is that of ISO 3166-1 in two letters; empty where nobody said.
	Country   string   `json:"country,omitempty"`
	Latitude  *float64 `json:"latitude_deg,omitempty"`
	Longitude *float64 `json:"longitude_deg,omitempty"`
	Note      string   `json:"note,omitempty"`
}

// SuperKind is a kind of honey box: deep, medium, shallow or the outfit's own.
type SuperKind struct {
	Name           string `json:"name"`
	FramesPerSuper int    `json:"frames_per_super"`
	// TareG is the box with its drawn, extracted combs.
	TareG int64 `json:"tare_g"`
	// UsualNetG is the honey of a box as it usually comes in.
	UsualNetG int64 `json:"usual_net_g"`
	// FullestNetG is the most a box can hold.
	FullestNetG int64 `json:"fullest_net_g"`
}

// ContainerKind is a kind of drum, pail or tote.
type ContainerKind struct {
	Name      string `json:"name"`
	VolumeML  int64  `json:"volume_ml"`
	TareG     int64  `json:"usual_tare_g"`
	UsualNetG int64  `json:"usual_net_g"`
}

// RoomUse says what a room is for.
type RoomUse string

const (
	HotRoom RoomUse = "hot_room"
	Store   RoomUse = "store"
)

// Room is a hot room, where supers wait, or a store, where containers stand.
type Room struct {
	Name string  `json:"name"`
	Use  RoomUse `json:"use"`
	// UsualTemperatureC stands in where no log was kept.
	UsualTemperatureC *float64 `json:"usual_temperature_c,omitempty"`
	// WarmestMonthMeanC and ColdestMonthMeanC are the means of those months, both or neither. They say
	// more than UsualTemperatureC, and stand in before it. WarmestMonth is 1 to 12, 7 where it is
	// not said.
	WarmestMonthMeanC *float64 `json:"warmest_month_mean_c,omitempty"`
	ColdestMonthMeanC *float64 `json:"coldest_month_mean_c,omitempty"`
	WarmestMonth      int      `json:"warmest_month,omitempty"`
}

// TankUse says what a tank is for.
type TankUse string

const (
	Sump     TankUse = "sump"
	Settling TankUse = "settling"
	Heated   TankUse = "heated"
	Bulk     TankUse = "bulk"
)

// Text says what a tank is for.
func (u TankUse) Text() message.Text {
	switch u {
	case Sump:
		return message.F("sump")
	case Settling:
		return message.F("settling tank")
	case Heated:
		return message.F("heated tank")
	case Bulk:
		return message.F("bulk tank")
	}
	return message.Verbatim(string(u))
}

// TankShape is the shape that turns a dip into litres.
type TankShape struct {
	// Form is "upright_cylinder", "cone_bottom", "lying_cylinder", "box" or
	// "dip_table".
	Form       string  `json:"form"`
	DiameterCM float64 `json:"diameter_cm,omitempty"`
	LengthCM   float64 `json:"length_cm,omitempty"`
	WidthCM    float64 `json:"width_cm,omitempty"`
	// HeightCM is the whole height inside, of a cone's bottom from its point.
	HeightCM float64 `json:"height_cm,omitempty"`
	// ConeDepthCM is the cone's share of HeightCM.
	ConeDepthCM float64 `json:"cone_depth_cm,omitempty"`
	// DishDepthCM is how far each end of a lying cylinder bulges out; 0: flat.
	DishDepthCM float64    `json:"dish_depth_cm,omitempty"`
	DipTable    []DipPoint `json:"dip_table,omitempty"`
}

// DipPoint is one line of a tank's own dip table.
type DipPoint struct {
	DepthCM float64 `json:"depth_cm"`
	Litres  float64 `json:"litres"`
}

// Tank is anything that holds liquid honey for a while.
type Tank struct {
	Name string  `json:"name"`
	Use  TankUse `json:"use"`
	// CapacityG is the honey it holds when full.
	CapacityG int64      `json:"capacity_g"`
	HeaterW   float64    `json:"heater_w,omitempty"`
	HoseMark  string     `json:"hose_mark,omitempty"`
	Shape     *TankShape `json:"shape,omitempty"`
	// UsualTemperatureC stands in where no log was kept.
	UsualTemperatureC *float64 `json:"usual_temperature_c,omitempty"`
	// FeedsTankID is the tank into which a float pump takes its honey, unseen.
	FeedsTankID ID `json:"feeds_tank_id,omitzero"`
}

// Instrument is what a reading was taken with.
type Instrument struct {
	Name string `json:"name"`
	// Scale is what it shows: "moisture", "refractive_index" or "brix" for a
	// refractometer, "kg" for a balance, "celsius" for a thermometer, "other".
	Scale string `json:"scale"`
	// Compensates is true where it corrects for the sample's temperature.
	Compensates bool `json:"compensates_temperature"`
	// StdUncertainty is its standard uncertainty in its own scale; nil where nobody
	// says it.
	StdUncertainty *float64 `json:"std_uncertainty,omitempty"`
	// CheckEveryDays is how long a good check holds; 0: for ever.
	CheckEveryDays int `json:"check_every_days,omitempty"`
}

// ScaleStdUncertainty is the standard uncertainty for what takes 0 as not known: above
// 0 where it is stated, though it be nothing.
func (i *Instrument) ScaleStdUncertainty() float64 {
	if i.StdUncertainty == nil {
		return 0
	}
	return max(*i.StdUncertainty, leastSD)
}

// Buyer is somebody who takes honey.
type Buyer struct {
	Name    string `json:"name"`
	Address string `json:"address,omitempty"`
	// Market is the published rule set that what is sent to this buyer is held to, by its id
	// or the family of its editions.
	Market string `json:"market,omitempty"`
}

// feeds checks that a float pump leads to another tank.
func (c *checker) feeds(t *Tank) {
	c.mayName("/feeds_tank_id", t.FeedsTankID, KindTank)
	if t.FeedsTankID != (ID{}) && c.own(t.FeedsTankID) {
		c.wrong("/feeds_tank_id", t.FeedsTankID, "A tank cannot feed itself: name the tank that its pump leads to.")
	}
}

func (*Season) Kind() Kind        { return KindSeason }
func (*Yard) Kind() Kind          { return KindYard }
func (*SuperKind) Kind() Kind     { return KindSuperKind }
func (*ContainerKind) Kind() Kind { return KindContainerKind }
func (*Room) Kind() Kind          { return KindRoom }
func (*Tank) Kind() Kind          { return KindTank }
func (*Instrument) Kind() Kind    { return KindInstrument }
func (*Buyer) Kind() Kind         { return KindBuyer }

// Date is a day without a time, "2026-08-21".
type Date string

// On is the first instant of the day in loc.
func (d Date) On(loc *time.Location) (time.Time, error) {
	return time.ParseInLocation(time.DateOnly, string(d), loc)
}

// Holds reports whether the instant falls on a day of the season in loc.
func (s *Season) Holds(at time.Time, loc *time.Location) bool {
	day := Date(at.In(loc).Format(time.DateOnly))
	return s.First <= day && day <= s.Last
}
