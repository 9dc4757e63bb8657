package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// A heading that names a figure in all of its words goes before one that names it in some, and
// one that says another figure by the rest of its words is not taken for it.
func TestAFigureIsNotTakenFromAColumnThatSaysAnother(t *testing.T) {
	t.Parallel()
	const pull, drum, tank = "Date,Yard,Supers,Kind", "Date,Lot,Tank,Drum,Type", "Date,Tank"
	const pulled, filled, read = "2026-07-06,Mill,12,deep", "2026-07-06,OLD,sump,D-1,drum", "2026-07-06,sump"
	for _, row := range []struct {
		of    importing.Kind
		text  string
		field importing.Field
		want  string // the columns that are taken for the field
	}{
		{importing.Pulls, pull + ",Average gross kg,Gross kg\n" + pulled + ",36,432\n", importing.FieldGross, "F"},
		{importing.Pulls, pull + ",Gross kg per super\n" + pulled + ",36\n", importing.FieldGross, ""},
		{importing.Pulls, pull + ",Gross/super kg\n" + pulled + ",36\n", importing.FieldGross, ""},
		{importing.Pulls, pull + ",Gross (x10 kg)\n" + pulled + ",43\n", importing.FieldGross, ""},
		{importing.Pulls, pull + ",Price per kg gross\n" + pulled + ",3.5\n", importing.FieldGross, ""},
		{importing.Pulls, pull + ",Cumulative gross kg\n" + pulled + ",850\n", importing.FieldGross, ""},
		{importing.Pulls, pull + ",Honey weight kg\n" + pulled + ",300\n", importing.FieldGross, ""},
		{importing.Pulls, pull + ",Net weight kg\n" + pulled + ",300\n", importing.FieldGross, ""},
		{importing.Pulls, pull + ",Tare weight kg,Weight full kg\n" + pulled + ",120,420\n", importing.FieldGross, "F"},
		{importing.Pulls, pull + ",Gross kg,Weight kg\n" + pulled + ",432,310\n", importing.FieldGross, "EF"},
		{importing.Pulls, pull + ",Gross 2025 kg,Gross 2026 kg\n" + pulled + ",400,450\n", importing.FieldGross, "EF"},
		{importing.Pulls, pull + ",Barn Gross kg\n" + pulled + ",432\n", importing.FieldGross, "E"},
		{importing.Pulls, pull + ",Dead hives,Hives\n" + pulled + ",3,40\n", importing.FieldHivesWorked, "F"},
		{importing.Pulls, "Date,Yard,Kind,Supers put on,Supers taken off\n2026-07-06,Mill,deep,6,12\n", importing.FieldSupers, "E"},
		{importing.Pulls, "Date,Yard,Kind,Supers,Boxes\n2026-07-06,Mill,deep,6,12\n", importing.FieldSupers, "DE"},
		{importing.Pulls, "Date,Yard,Kind,Supers,Boxes\n2026-07-06,Mill,deep,12,12\n", importing.FieldSupers, "D"},
		{importing.Pulls, "Date,Yard,Kind,% supers capped,Supers\n2026-07-06,Mill,deep,90,12\n", importing.FieldSupers, "E"},
		{importing.Pulls, "Date set,Date,Yard,Kind,Supers\n2026-05-06,2026-07-06,Mill,deep,12\n", importing.FieldDate, "B"},
		{importing.Pulls, "Date,Date pulled,Yard,Kind,Supers\n2026-07-10,2026-07-06,Mill,deep,12\n", importing.FieldDate, "AB"},
		{importing.Pulls, "Date,Next yard,Yard,Kind,Supers\n2026-07-10,Ridge,Mill,deep,12\n", importing.FieldYard, "C"},
		{importing.Pulls, "Date,Yard,Kind,Avg per deep,Supers\n2026-07-06,Mill,deep,36,12\n", importing.FieldSupers, "E"},
		{importing.Pulls, "Date,Yard,Kind,Frames deep,Supers\n2026-07-06,Mill,deep,90,12\n", importing.FieldSupers, "E"},
		{importing.Pulls, "Date,Yard,Put on deep,Shallow\n2026-07-06,Mill,36,12\n", importing.FieldSupers, "D"},
		{importing.Pulls, "Date,Yard,Full deep\n2026-07-06,Mill,12\n", importing.FieldSupers, "C"},
		{importing.Lots, "Best before date,Lot\n2028-07-06,L9\n", importing.FieldDate, ""},
		{importing.HiveCounts, "Date,Yard,Count,Hives,Alive\n2026-04-06,Mill,spring,40,36\n", importing.FieldHives, "DE"},
		{importing.Runs, "Date,Run,Tank,Yield kg/hive\n2026-07-06,A,sump,21\n", importing.FieldHoney, ""},
		{importing.Runs, "Date,Run,Tank,Yield %\n2026-07-06,A,sump,21\n", importing.FieldHoney, ""},
		{importing.Runs, "Date,Run,Tank,Gross weight kg\n2026-07-06,A,sump,210\n", importing.FieldHoney, ""},
		{importing.Runs, "Date,Run,Tank,Frames extracted\n2026-07-06,A,sump,180\n", importing.FieldFrames, ""},
		{importing.Transfers, "Date,From,To,Weight before kg,Weight after kg\n2026-07-06,sump,large tank,300,20\n", importing.FieldHoney, ""},
		{importing.Containers, drum + ",Drum weight kg,Full weight kg\n" + filled + ",18,310\n", importing.FieldGross, "G"},
		{importing.Containers, drum + ",Weight kg\n" + filled + ",290\n", importing.FieldGross, ""},
		{importing.Containers, drum + ",Weight kg,Tare kg\n" + filled + ",310,18\n", importing.FieldGross, "F"},
		{importing.Containers, drum + ",Buyer net kg\n" + filled + ",280\n", importing.FieldNet, ""},
		{importing.Containers, "No," + drum + ",Net kg\n1," + filled + ",290\n", importing.FieldContainer, "AE"},
		{importing.Readings, tank + ",Moisture before,Moisture after\n" + read + ",19.2,17.4\n", importing.FieldMoisture, ""},
		{importing.Readings, tank + ",Moisture limit\n" + read + ",18.5\n", importing.FieldMoisture, ""},
		{importing.Readings, tank + ",pH of water,pH\n" + read + ",7.0,3.9\n", importing.FieldMoisture, ""},
		{importing.Readings, tank + ",Water in honey %\n" + read + ",17.2\n", importing.FieldMoisture, "C"},
		{importing.Readings, tank + ",Colour (cm)\n" + read + ",4.1\n", importing.FieldColour, "C"},
		{importing.Readings, tank + ",Colour (mm Pfund)\n" + read + ",41\n", importing.FieldColour, "C"},
		{importing.Readings, tank + ",HMF mg/100 g\n" + read + ",0.3\n", importing.FieldHMF, "C"},
		{importing.Readings, tank + ",Moisture,Room temp C\n" + read + ",17.2,31\n", importing.FieldSampleC, ""},
		{importing.Runs, "Date,Run,Tank,Honey kg (incl. wax)\n2026-07-06,A,sump,200\n", importing.FieldWax, ""},
		{importing.Runs, "Date,Run,Tank,Honey kg,Cappings wax kg\n2026-07-06,A,sump,200,3\n", importing.FieldWax, "E"},
		{importing.HiveCounts, "Date,Yard,Count,Hives in,Hives\n2026-04-06,Mill,spring,4,40\n", importing.FieldHives, "E"},
		{importing.Pulls, "Date,Yard,Kind,Supers to date\n2026-07-06,Mill,deep,12\n", importing.FieldSupers, ""},
		{importing.Pulls, "Date,Yard,Kind,Supers out\n2026-07-06,Mill,deep,12\n", importing.FieldSupers, ""},
		{importing.Readings, tank + ",pH meter check,pH\n" + read + ",4.01,3.9\n", importing.FieldPH, "D"},
		{importing.TemperatureLogs, tank + ",Outdoor temp C\n" + read + ",18\n", importing.FieldTemperature, ""},
		{importing.TemperatureLogs, tank + ",Set temp C,Temp C\n" + read + ",40,38\n", importing.FieldTemperature, "D"},
	} {
		m, got := newHouse().guess(t, row.of, row.text), ""
		for _, c := range m.Columns {
			if c.Field == row.field {
				got += c.Column
			}
		}
		if got != row.want {
			t.Errorf("%s: the %s is taken from %q, and should be from %q", row.text, row.field, got, row.want)
		}
	}
}

// A heading with two units says of no figure which one it is in.
func TestAHeadingWithTwoUnitsIsAskedAbout(t *testing.T) {
	t.Parallel()
	for heading, field := range map[string]importing.Field{"Gross (kg/lb)": importing.FieldGross, "Temp C/F": importing.FieldTemperature} {
		if got := importing.UnitIn(heading, field); got != "" {
			t.Errorf("%s is taken for %s", heading, got)
		}
	}
	if got := importing.UnitIn("Gross kg (kg)", importing.FieldGross); got != importing.Kilograms {
		t.Errorf("a unit that stands twice is taken for %q", got)
	}
}

// A column of units says of each row what its figure is in, and stands above the heading.
func TestAColumnOfUnitsIsRead(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Pulls, "Date,Yard,Supers,Kind,Gross kg,Unit\n2026-07-06,Mill,12,deep,1000,lb\n2026-07-07,Mill,12,deep,400,kg\n2026-07-08,Mill,12,deep,390,\n")
	var got []int64
	for _, p := range bodies[ledger.Pull](h) {
		got = append(got, p.GrossG)
	}
	if want := []int64{453_592, 400_000, 390_000}; !slices.Equal(got, want) {
		t.Errorf("the pulls weigh %d g, and should %d g", got, want)
	}
	const drums = "Date,Yard,Supers,Kind,Gross kg,Unit\n2026-07-06,Mill,12,deep,3,drums\n"
	if r := h.check(t, drums, h.guess(t, importing.Pulls, drums)); !slices.Equal(problems(r), []string{"2E no_unit"}) {
		t.Errorf("%v", said(r))
	}
	const logged = "Date,Tank,Temp C,\n2026-07-06 10:00,sump,80.6,F\n"
	h.bring(t, importing.TemperatureLogs, logged)
	if logs := bodies[ledger.TemperatureLog](h); len(logs) != 1 || logs[0].Points[0].TemperatureC != 27 {
		t.Errorf("%+v", logs)
	}
}
