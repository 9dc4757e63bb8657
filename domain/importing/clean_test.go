package importing_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// keeper keeps sheets as careful beekeepers do: honest, whole, and in one way. What it writes down
// is drawn, so that each year's figures are others.
type keeper struct {
	*rand.Rand
	yards []string
	comma bool   // decimals stand behind a comma, and semicolons part cells
	days  string // how days are written
	held  held
}

// held is what a sheet holds in all.
type held struct{ entries, figures int64 }

// places are names of yards, of which the outfit has the first two.
var places = map[string][]string{
	"en": strings.Split("Mill,Ridge,Home,River Bend,Old School,North Forty,South Slope,Miller's,Johnson East,Johnson West,Creek,Airport,Church,Quarry,Lakeside,Highway 10,Section 12,Coulee,Sandhill,Elm Grove,Dugout,Elevator,Gravel Pit,Canola North,Canola South,Clover Flat,Bluff,Correction Line,Tower,Golf Course,Dump Road,Fairground,Park,Swamp,Trestle,Pasture,Cemetery,Orchard,Poplar,Willow,Spruce,Pine,Cabin,Shop,Siding,Beaver Dam,Ferry,Hilltop,Valley,Border,Fox Den,Deer Lodge,Pond,Red Barn,White Barn,Windmill,Corner,Three Mile,Five Mile,Ten Mile", ","),
	"es": strings.Split("Mill,Ridge,La Loma,El Molino,Los Aromos,Santa Rosa,San José,Fundo Norte,Camino Real,El Roble,Puente Alto,Las Palmas,Río Claro,La Cruz,Quebrada Honda,Los Quillayes,El Peral,Km 12,Parcela 4,Doña Inés,El Boldo,Alto del Carmen,La Vega,El Sauce,Los Robles,La Posada,Bajo Grande,Monte Verde,La Aguada,El Durazno", ","),
	"de": strings.Split("Mill,Ridge,Mühle,Waldrand,Am Bach,Kirchberg,Obstgarten,Hof,Heide,Steinbruch,Lindenallee,Rapsfeld Nord,Schulgarten,Rapsfeld Süd,Bahnhof,Weinberg,Talwiese,Forsthaus,Seeufer,Akazienhain", ","),
}

func keeperOf(seed uint64, language string, yards int) *keeper {
	k := &keeper{Rand: rand.New(rand.NewPCG(seed, 17)), yards: places[language][:yards], days: time.DateOnly}
	if language != "en" {
		k.comma, k.days = true, "2.1.2006"
	}
	if language == "es" {
		k.days = "02/01/2006"
	}
	return k
}

func (k *keeper) day(n int) string {
	return time.Date(2026, 6, 20, 12, 0, 0, 0, time.UTC).AddDate(0, 0, n).Format(k.days)
}

// figure writes a figure down, which counts in thousandths among what the sheet holds.
func (k *keeper) figure(v float64, digits int) string {
	out := strconv.FormatFloat(v, 'f', digits, 64)
	x, _ := strconv.ParseFloat(out, 64)
	k.held.figures += int64(math.Round(x * 1000))
	return k.mark(out)
}

// aside writes one down that is not stored.
func (k *keeper) aside(v float64, digits int) string {
	return k.mark(strconv.FormatFloat(v, 'f', digits, 64))
}

func (k *keeper) mark(figure string) string {
	if k.comma {
		return strings.Replace(figure, ".", ",", 1)
	}
	return figure
}

func (k *keeper) sheet(rows ...[]string) string {
	sep := ","
	if k.comma {
		sep = ";"
	}
	var b strings.Builder
	for _, r := range rows {
		b.WriteString(strings.Join(r, sep) + "\n")
	}
	return b.String()
}

func (k *keeper) pick(of ...string) string { return of[k.IntN(len(of))] }

var notes = []string{"", "", "", "rain at noon", "with Ana", "2 left behind", "bees hot", "20 lb sugar given", "truck 2", "40 hives left", "all good"}
var notas = []string{"", "", "", "llovía", "con Ana", "quedan 2 alzas", "abejas bravas", "camión 2", "20 kg de azúcar"}

func count(n int) string { return strconv.Itoa(n) }

func (k *keeper) supers(n int) string {
	k.held.figures += int64(n) * 1000
	return count(n)
}

// clean is a sheet of such a keeper. Where it names what the outfit does not have, that is to be set
// up; where it is wide, answers say what its cells are.
type clean struct {
	says, language string
	of             importing.Kind
	yards          int
	answers        *importing.Mapping
	// first are sheets that came in before.
	first []earlierSheet
	text  func(*keeper) string
}

type earlierSheet struct {
	of   importing.Kind
	text string
}

var kindsOfBox = []string{"deep", "shallow"}

// table is a table of rows.
func (k *keeper) table(rows int, heading string, row func(i int) []string) string {
	out := [][]string{strings.Split(heading, ";")}
	for i := range rows {
		k.held.entries++
		out = append(out, row(i))
	}
	return k.sheet(out...)
}

func (k *keeper) pull(i, rows int) (day, yard string, supers int) {
	return k.day(i * 90 / rows), k.yards[i%len(k.yards)], 3 + k.IntN(40)
}

// grid is a wide sheet: what stands before each row, and its figures; empty is how many in ten cells are.
func (k *keeper) grid(corner string, above, beside []string, empty int, cell func() string) (out [][]string) {
	out = append(out, append([]string{corner}, above...))
	for _, b := range beside {
		row := []string{b}
		for range above {
			if k.IntN(10) < empty {
				row = append(row, "")
				continue
			}
			k.held.entries++
			row = append(row, cell())
		}
		out = append(out, row)
	}
	return out
}

func (k *keeper) someDays(n int) (out []string) {
	for i := range n {
		out = append(out, k.day(i*3))
	}
	return out
}

func (k *keeper) boxes() string { return k.supers(3 + k.IntN(30)) }

// withTotals adds a column and a row of totals to a grid.
func withTotals(rows [][]string, heading string) [][]string {
	sums := make([]int, len(rows[0]))
	for i := range rows {
		if i == 0 {
			rows[i] = append(rows[i], heading)
			continue
		}
		sum := 0
		for j, cell := range rows[i][1:] {
			n, _ := strconv.Atoi(cell)
			sum += n
			sums[j+1] += n
		}
		rows[i] = append(rows[i], count(sum))
	}
	last, all := []string{heading}, 0
	for _, s := range sums[1:] {
		last, all = append(last, count(s)), all+s
	}
	return append(rows, append(last, count(all)))
}

func plainPulls(rows int, heading string, unit float64, digits int, more func(*keeper) []string) func(*keeper) string {
	return func(k *keeper) string {
		return k.table(rows, heading, func(i int) []string {
			day, yard, n := k.pull(i, rows)
			out := []string{day, yard, k.supers(n), k.pick(kindsOfBox...), k.aside((float64(n)*38+k.Float64()*20)*unit, digits)}
			if more != nil {
				out = append(out, more(k)...)
			}
			return out
		})
	}
}

var cleanSheets = []clean{
	{says: "pulls, 3 yards", language: "en", of: importing.Pulls, yards: 3, text: plainPulls(24, "Date;Yard;Supers;Kind;Gross kg;Hives;Notes", 1, 1, func(k *keeper) []string { return []string{count(20 + k.IntN(20)), k.pick(notes...)} })},
	{says: "pulls in pounds, 60 yards, 400 rows", language: "en", of: importing.Pulls, yards: 60, text: plainPulls(400, "Date;Yard;Supers;Kind;Gross lb;Notes", 2.2046, 0, func(k *keeper) []string { return []string{k.pick(notes...)} })},
	{says: "pulls in Spanish", language: "es", of: importing.Pulls, yards: 20, text: plainPulls(120, "Fecha;Colmenar;Alzas;Tipo de alza;Peso bruto kg;Observaciones", 1, 1, func(k *keeper) []string { return []string{k.pick(notas...)} })},
	{says: "pulls in German", language: "de", of: importing.Pulls, yards: 12, text: plainPulls(90, "Datum;Stand;Zargen;Zargenart;Brutto kg;Völker;Bemerkung", 1, 1, func(k *keeper) []string {
		return []string{count(8 + k.IntN(12)), k.pick("", "Regen", "mit Anna", "2 Zargen bleiben")}
	})},
	{says: "pulls with initials, weather and truck", language: "en", of: importing.Pulls, yards: 15, text: plainPulls(100, "Date;Yard;Supers;Kind;Gross kg;By;Weather;Truck;Air temp C", 1, 1, func(k *keeper) []string {
		return []string{k.pick("AB", "JM", "T", "C", "F"), k.pick("sunny", "25 C and calm", "rain", "hot at 31 °C"), count(1 + k.IntN(2)), count(18 + k.IntN(14))}
	})},
	{says: "pulls below a title", language: "en", of: importing.Pulls, yards: 8, text: func(k *keeper) string {
		return "Fern Gully Honey - pulls 2026,,,,\nGross weights in kg with boxes,,,,\n,,,,\n" + plainPulls(60, "Date;Yard;Supers;Kind;Gross kg", 1, 1, nil)(k)
	}},
	{says: "pulls in pounds below a title", language: "en", of: importing.Pulls, yards: 8, text: func(k *keeper) string {
		return "Honey pulled in 2026 (weights in lb, boxes and all),,,,\n" + plainPulls(60, "Date;Yard;Supers;Kind;Gross lb", 2.2, 0, nil)(k)
	}},
	{says: "pulls with a column for each kind and their sum", language: "en", of: importing.Pulls, yards: 30, text: func(k *keeper) string {
		return k.table(200, "Date;Yard;Deep;Shallow;Total supers;Gross kg", func(i int) []string {
			day, yard, n := k.pull(i, 200)
			m := k.IntN(12)
			return []string{day, yard, k.supers(n), k.supers(m), count(n + m), k.aside(float64(n*38+m*20), 1)}
		})
	}},
	{says: "pulls with times", language: "en", of: importing.Pulls, yards: 10, text: func(k *keeper) string {
		return k.table(50, "Date;Time;Yard;Supers;Kind;Hot room", func(i int) []string {
			day, yard, n := k.pull(i, 50)
			return []string{day, fmt.Sprintf("%d:%02d", 7+i%11, i%60), yard, k.supers(n), "deep", "hot room"}
		})
	}},
	{says: "pulls with times of twelve hours", language: "en", of: importing.Pulls, yards: 10, text: func(k *keeper) string {
		k.days = "1/2/2006"
		return k.table(50, "Date;Time;Yard;Supers;Kind", func(i int) []string {
			day, yard, n := k.pull(i, 50)
			return []string{day, fmt.Sprintf("%d:%02d %s", 1+i%12, i%60, k.pick("am", "pm")), yard, k.supers(n), "deep"}
		})
	}},
	{says: "pulls with a share and a mean that are not read", language: "en", of: importing.Pulls, yards: 6, text: plainPulls(30, "Date;Yard;Supers;Kind;Gross kg;Avg per super kg;% of season", 1, 1, func(k *keeper) []string { return []string{k.aside(38+k.Float64(), 1), k.aside(3*k.Float64(), 1)} })},
	{says: "pulls with a total below", language: "en", of: importing.Pulls, yards: 6, text: func(k *keeper) string {
		text := plainPulls(30, "Date;Yard;Supers;Kind;Gross kg", 1, 1, nil)(k)
		return text + fmt.Sprintf("Total,,%d,,\n", k.held.figures/1000)
	}},
	{says: "pulls of one yard, one a day, without weights", language: "en", of: importing.Pulls, yards: 1, text: func(k *keeper) string {
		return k.table(12, "Date;Yard;Supers;Kind;Notes", func(i int) []string {
			return []string{k.day(i), k.yards[0], k.boxes(), "deep", k.pick(notes...)}
		})
	}},
	{says: "pulls with small counts", language: "en", of: importing.Pulls, yards: 5, text: func(k *keeper) string {
		return k.table(8, "Date;Yard;Supers;Kind", func(i int) []string {
			return []string{k.day(i), k.yards[i%5], k.supers(1 + k.IntN(6)), "deep"}
		})
	}},
	{says: "yards", language: "en", of: importing.Yards, yards: 60, text: func(k *keeper) string {
		k.yards = k.yards[2:]
		return k.table(58, "Yard;Reg no;Lat;Long;Notes", func(i int) []string {
			return []string{k.yards[i], fmt.Sprintf("MB-%03d", i), k.aside(49+k.Float64(), 4), k.aside(-97-k.Float64(), 4), k.pick(notes...)}
		})
	}},
	{says: "yards in Spanish", language: "es", of: importing.Yards, yards: 30, text: func(k *keeper) string {
		k.yards = k.yards[2:]
		return k.table(28, "Colmenar;Registro;Latitud;Longitud;Propietario", func(i int) []string {
			return []string{k.yards[i], fmt.Sprintf("R-%03d", i), k.aside(-36-k.Float64(), 4), k.aside(-72-k.Float64(), 4), "Don Luis"}
		})
	}},
	{says: "hive counts", language: "en", of: importing.HiveCounts, yards: 60, text: func(k *keeper) string {
		return k.table(60, "Date;Yard;Count;Hives;Dead;Notes", func(i int) []string {
			return []string{k.day(i / 8), k.yards[i], "summer", k.supers(10 + k.IntN(40)), count(k.IntN(3)), k.pick(notes...)}
		})
	}},
	{says: "hive counts in German", language: "de", of: importing.HiveCounts, yards: 20, answers: &importing.Mapping{Fixed: map[importing.Field]string{importing.FieldCountName: "Sommer"}}, text: func(k *keeper) string {
		return k.table(20, "Datum;Bienenstand;Völker", func(i int) []string {
			return []string{k.day(i / 8), k.yards[i], k.supers(10 + k.IntN(40))}
		})
	}},
	{says: "runs", language: "en", of: importing.Runs, yards: 2, text: func(k *keeper) string {
		return k.table(40, "Date;Run;Tank;Honey kg;Wax kg;Frames per side;Notes", func(i int) []string {
			return []string{k.day(i), fmt.Sprintf("R%02d", i+1), k.pick("large tank", "sump"), k.figure(200+1000*k.Float64(), 1), k.aside(5+10*k.Float64(), 1), "30", k.pick(notes...)}
		})
	}},
	{says: "runs in pounds", language: "en", of: importing.Runs, yards: 2, text: func(k *keeper) string {
		k.days = "1/2/2006"
		return k.table(40, "Date;Run;Tank;Honey lb", func(i int) []string {
			return []string{k.day(i), fmt.Sprintf("R%02d", i+1), "large tank", k.aside(500+2000*k.Float64(), 0)}
		})
	}},
	{says: "runs in Spanish", language: "es", of: importing.Runs, yards: 2, text: func(k *keeper) string {
		return k.table(30, "Fecha;Tanda;Tanque;Miel kg;Cera kg;Observaciones", func(i int) []string {
			return []string{k.day(i), fmt.Sprintf("T%02d", i+1), "large tank", k.aside(200+1000*k.Float64(), 1), k.aside(5+10*k.Float64(), 1), k.pick(notas...)}
		})
	}},
	{says: "readings of a year", language: "en", of: importing.Readings, yards: 2, text: func(k *keeper) string {
		return k.table(140, "Date;Time;Tank;Moisture %;Sample temp C;Sampled at;By", func(i int) []string {
			return []string{k.day(i), fmt.Sprintf("%d:30", 8+i%9), k.pick("large tank", "sump"), k.figure(16+3*k.Float64(), 1), k.aside(20+10*k.Float64(), 1), k.pick("top", "bottom", ""), k.pick("C", "AB", "F")}
		})
	}},
	{says: "readings in Spanish", language: "es", of: importing.Readings, yards: 2, text: func(k *keeper) string {
		return k.table(60, "Fecha;Tanque;Humedad %;Temperatura C;Color mm Pfund;Observaciones", func(i int) []string {
			return []string{k.day(i), "large tank", k.figure(16+3*k.Float64(), 1), k.aside(20+10*k.Float64(), 1), count(20 + k.IntN(40)), k.pick(notas...)}
		})
	}},
	{says: "readings in German", language: "de", of: importing.Readings, yards: 2, text: func(k *keeper) string {
		return k.table(60, "Datum;Tank;Wassergehalt %;Leitfähigkeit mS/cm;Bemerkung", func(i int) []string {
			return []string{k.day(i), "large tank", k.figure(16+3*k.Float64(), 1), k.aside(0.2+0.6*k.Float64(), 2), ""}
		})
	}},
	{says: "readings of Brix at a temperature in Fahrenheit", language: "en", of: importing.Readings, yards: 2, text: func(k *keeper) string {
		return k.table(60, "Date;Tank;Brix;Sample temp F;Notes", func(i int) []string {
			return []string{k.day(i), "sump", k.figure(80+3*k.Float64(), 1), k.aside(68+20*k.Float64(), 0), k.pick("", "stirred", "after 2 hours", "at 25 C")}
		})
	}},
	{says: "a laboratory's results", language: "en", of: importing.Readings, yards: 2, text: func(k *keeper) string {
		return k.table(12, "Date;Tank;Laboratory;Moisture %;HMF mg/kg;HMF method;Diastase;Colour mm Pfund;Conductivity mS/cm;pH;Free acidity meq/kg;Report no", func(i int) []string {
			return []string{k.day(i * 9), "large tank", "County Lab", k.figure(16+3*k.Float64(), 1), k.aside(2+10*k.Float64(), 1), "HPLC", k.aside(10+10*k.Float64(), 1), count(20 + k.IntN(40)), k.aside(0.2+0.3*k.Float64(), 2), k.aside(3.6+0.5*k.Float64(), 1), k.aside(10+20*k.Float64(), 1), fmt.Sprintf("L-%d", 1000+i)}
		})
	}},
	{says: "lots", language: "en", of: importing.Lots, yards: 2, text: func(k *keeper) string {
		return k.table(20, "Date;Lot;Product;Notes", func(i int) []string {
			return []string{k.day(i * 4), fmt.Sprintf("26-%03d", i+1), k.pick("clover", "canola", "wildflower"), k.pick(notes...)}
		})
	}},
	{says: "lots in Spanish", language: "es", of: importing.Lots, yards: 2, text: func(k *keeper) string {
		return k.table(20, "Fecha;Lote;Producto;Observaciones", func(i int) []string {
			return []string{k.day(i * 4), fmt.Sprintf("L26-%03d", i+1), k.pick("ulmo", "multifloral"), k.pick(notas...)}
		})
	}},
	{says: "drums", language: "en", of: importing.Containers, yards: 2, text: func(k *keeper) string {
		return k.table(300, "Date;Lot;Tank;Drum;Kind;Gross kg;Tare kg;Net kg;Seal", func(i int) []string {
			gross, tare := 300+float64(k.IntN(100))/10, 17+float64(k.IntN(10))/10
			return []string{k.day(i / 6), fmt.Sprintf("26-%03d", i/30), "large tank", fmt.Sprintf("%04d", i+1), "drum", k.aside(gross, 1), k.aside(tare, 1), k.aside(gross-tare, 1), fmt.Sprintf("S%05d", 100+i)}
		})
	}},
	{says: "drums in pounds", language: "en", of: importing.Containers, yards: 2, text: func(k *keeper) string {
		k.days = "1/2/2006"
		return k.table(120, "Date filled;Lot no;Tank;Drum no;Drum type;Gross wt lb;Tare lb;Notes", func(i int) []string {
			return []string{k.day(i / 6), fmt.Sprintf("A%d", i/30), "large tank", fmt.Sprintf("D-%03d", i+1), "drum", count(680 + k.IntN(20)), "38", k.pick("", "", "dented", "leaked 2 lb")}
		})
	}},
	{says: "drums in Spanish", language: "es", of: importing.Containers, yards: 2, text: func(k *keeper) string {
		return k.table(100, "Fecha;Lote;Tanque;Tambor;Tipo;Peso bruto kg;Tara kg", func(i int) []string {
			return []string{k.day(i / 6), fmt.Sprintf("L%d", i/30), "large tank", count(i + 1), "drum", k.aside(310+5*k.Float64(), 1), k.aside(17.5, 1)}
		})
	}},
	{says: "drums in German by their net", language: "de", of: importing.Containers, yards: 2, text: func(k *keeper) string {
		return k.table(50, "Datum;Los;Tank;Fass;Gebindeart;Netto kg", func(i int) []string {
			return []string{k.day(i / 6), fmt.Sprintf("L%d", i/30), "large tank", count(i + 1), "drum", k.aside(290+5*k.Float64(), 1)}
		})
	}},
	{says: "a log of a summer", language: "en", of: importing.TemperatureLogs, yards: 2, text: func(k *keeper) string {
		return k.log(3000, "Date Time;Room;Temp C;RH %", "2006-01-02 15:04", func(i int) []string {
			return []string{"hot room", k.aside(32+4*k.Float64(), 1), k.aside(40+20*k.Float64(), 1)}
		})
	}},
	{says: "a log in Fahrenheit", language: "en", of: importing.TemperatureLogs, yards: 2, text: func(k *keeper) string {
		return k.log(2000, "Date;Time;Tank;Temp F;Battery V", "01/02/2006;03:04 PM", func(i int) []string {
			return []string{"sump", k.aside(86+5*k.Float64(), 1), k.aside(3.1, 1)}
		})
	}},
	{says: "a log in German", language: "de", of: importing.TemperatureLogs, yards: 2, text: func(k *keeper) string {
		return k.log(1000, "Datum;Uhrzeit;Tank;Temperatur C", "02.01.2006;15:04:05", func(i int) []string {
			return []string{"sump", k.aside(30+4*k.Float64(), 2)}
		})
	}},
	{says: "a log, newest first", language: "en", of: importing.TemperatureLogs, yards: 2, text: func(k *keeper) string {
		rows := strings.Split(strings.TrimSpace(k.log(1000, "Timestamp;Room;Temp C", time.RFC3339, func(i int) []string {
			return []string{"hot room", k.aside(30+4*k.Float64(), 2)}
		})), "\n")
		slices.Reverse(rows[1:])
		return strings.Join(rows, "\n")
	}},
	{says: "a log in Spanish", language: "es", of: importing.TemperatureLogs, yards: 2, text: func(k *keeper) string {
		return k.log(800, "Fecha y hora;Tanque;Temperatura C;Humedad %", "02/01/2006 15:04", func(i int) []string {
			return []string{"sump", k.aside(30+4*k.Float64(), 1), k.aside(40+20*k.Float64(), 0)}
		})
	}},
	{says: "yards across, days down", language: "en", of: importing.Pulls, yards: 12, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		return k.sheet(k.grid("Supers", k.yards, k.someDays(20), 4, k.boxes)...)
	}},
	{says: "yards across, 60 of them", language: "en", of: importing.Pulls, yards: 60, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		return k.sheet(k.grid("Supers", k.yards, k.someDays(30), 7, k.boxes)...)
	}},
	{says: "3 yards across, small counts", language: "en", of: importing.Pulls, yards: 3, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		return k.sheet(k.grid("Supers", k.yards, k.someDays(6), 2, func() string { return k.supers(1 + k.IntN(6)) })...)
	}},
	{says: "yards across with totals", language: "en", of: importing.Pulls, yards: 8, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		return k.sheet(withTotals(k.grid("Supers", k.yards, k.someDays(15), 3, k.boxes), "Total")...)
	}},
	{says: "days across", language: "en", of: importing.Pulls, yards: 25, answers: wideDeeps(importing.FieldDate), text: func(k *keeper) string {
		return k.sheet(k.grid("Supers", k.someDays(15), k.yards, 5, k.boxes)...)
	}},
	{says: "days across with totals", language: "en", of: importing.Pulls, yards: 40, answers: wideDeeps(importing.FieldDate), text: func(k *keeper) string {
		return k.sheet(withTotals(k.grid("Supers", k.someDays(20), k.yards, 5, k.boxes), "Total")...)
	}},
	{says: "days across in Spanish with totals", language: "es", of: importing.Pulls, yards: 30, answers: wideDeeps(importing.FieldDate), text: func(k *keeper) string {
		return k.sheet(withTotals(k.grid("Alzas", k.someDays(12), k.yards, 5, k.boxes), "Total")...)
	}},
	{says: "yards across in German with sums", language: "de", of: importing.Pulls, yards: 10, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		return k.sheet(withTotals(k.grid("Zargen", k.yards, k.someDays(12), 3, k.boxes), "Summe")...)
	}},
	{says: "yards across with a title and notes", language: "en", of: importing.Pulls, yards: 6, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		rows := k.grid("Supers", k.yards, k.someDays(10), 3, k.boxes)
		for i := range rows {
			rows[i] = append(rows[i], k.pick(notes...))
		}
		rows[0][7] = "Notes"
		return "Supers pulled 2026\n" + k.sheet(rows...)
	}},
	{says: "boxes and kilograms below each yard", language: "en", of: importing.Pulls, yards: 5, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		above, units := []string{""}, []string{"Date"}
		for _, y := range k.yards {
			above, units = append(above, y, ""), append(units, "boxes", "gross kg")
		}
		rows := [][]string{above, units}
		for _, d := range k.someDays(10) {
			row := []string{d}
			for range k.yards {
				n := 3 + k.IntN(30)
				k.held.entries++
				row = append(row, k.supers(n), k.aside(float64(n)*38+k.Float64(), 1))
			}
			rows = append(rows, row)
		}
		return k.sheet(rows...)
	}},
	{says: "moisture of tanks across", language: "en", of: importing.Readings, yards: 2, text: func(k *keeper) string {
		return k.sheet(k.grid("Moisture %", []string{"sump", "large tank"}, k.someDays(40), 2, func() string { return k.figure(16+3*k.Float64(), 1) })...)
	}},
	{says: "moisture of tanks across, as a percentage", language: "es", of: importing.Readings, yards: 2, text: func(k *keeper) string {
		return k.sheet(k.grid("Humedad porcentaje", []string{"sump", "large tank"}, k.someDays(20), 2, func() string { return k.figure(16+3*k.Float64(), 1) })...)
	}},
	{says: "temperatures of tanks across", language: "en", of: importing.TemperatureLogs, yards: 2, text: func(k *keeper) string {
		rows := k.grid("Temp C", []string{"sump", "large tank"}, k.someDays(40), 1, func() string { return k.figure(28+5*k.Float64(), 1) })
		k.held.entries = 0
		return k.sheet(rows...)
	}},
	{says: "hives of yards across", language: "en", of: importing.HiveCounts, yards: 20, answers: &importing.Mapping{Fixed: map[importing.Field]string{importing.FieldCountName: "summer"}, Wide: &importing.Wide{Across: importing.FieldYard}}, text: func(k *keeper) string {
		return k.sheet(k.grid("Hives", k.yards, k.someDays(3), 0, func() string { return k.supers(15 + k.IntN(30)) })...)
	}},
	{says: "hives of yards down, counts across", language: "en", of: importing.HiveCounts, yards: 40, answers: &importing.Mapping{Fixed: map[importing.Field]string{importing.FieldCountName: "summer"}, Wide: &importing.Wide{Across: importing.FieldDate, Cells: importing.FieldHives}}, text: func(k *keeper) string {
		return k.sheet(withTotals(k.grid("Hives", k.someDays(2), k.yards, 0, func() string { return k.supers(15 + k.IntN(30)) }), "Total")...)
	}},
	{says: "months of yards across", language: "en", of: importing.Pulls, yards: 12, answers: &importing.Mapping{Year: 2026, Fixed: deeps().Fixed, Wide: &importing.Wide{Across: importing.FieldDate, Cells: importing.FieldSupers, MonthDay: 15}}, text: func(k *keeper) string {
		return k.sheet(withTotals(k.grid("Supers", []string{"June 2026", "July 2026", "August 2026"}, k.yards, 1, k.boxes), "Total")...)
	}},
	{says: "two blocks, one for each month", language: "en", of: importing.Pulls, yards: 7, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		first := k.sheet(k.grid("July", k.yards, k.someDays(8), 3, k.boxes)...)
		return first + "\n" + k.sheet(k.grid("August", k.yards, []string{k.day(50), k.day(53), k.day(57)}, 3, k.boxes)...)
	}},
	{says: "sales of drums by their numbers", language: "en", of: importing.Sales, first: []earlierSheet{{importing.Containers, drums}}, text: func(k *keeper) string {
		return k.table(16, "Date sold;Buyer;Drum numbers;Invoice;Notes", func(i int) []string {
			return []string{k.day(i - 250), "packer", fmt.Sprintf("D-%03d to D-%03d", i*5+1, i*5+5), fmt.Sprintf("INV-%d", 100+i), k.pick("", "paid", "picked up", "by truck")}
		})
	}},
	{says: "sales of single drums with their nets", language: "en", of: importing.Sales, first: []earlierSheet{{importing.Containers, drums}}, text: func(k *keeper) string {
		return k.table(20, "Date;Customer;Drum no;Lot;Net kg;Price per kg", func(i int) []string {
			return []string{k.day(i - 250), "packer", fmt.Sprintf("D-%03d", i+1), "L0", k.aside(293.5+float64(i%10), 1), "4.10"}
		})
	}},
	{says: "sales in Spanish by lot", language: "es", of: importing.Sales, first: []earlierSheet{{importing.Containers, drums}}, text: func(k *keeper) string {
		return k.table(2, "Fecha;Comprador;Lote;Tambores;Factura", func(i int) []string {
			return []string{k.day(i - 250), "packer", fmt.Sprintf("L%d", i), "40", fmt.Sprintf("F-%d", 100+i)}
		})
	}},
	{says: "honey pumped from tank to tank", language: "en", of: importing.Transfers, first: []earlierSheet{{importing.Runs, ran}}, text: func(k *keeper) string {
		return k.table(15, "Date;From tank;To tank;Honey kg;Notes", func(i int) []string {
			return []string{k.day(20 + i), "large tank", "sump", k.aside(20+float64(i), 1), k.pick(notes...)}
		})
	}},
	{says: "which boxes went into which run", language: "en", of: importing.RunSupers, first: []earlierSheet{{importing.Pulls, pulled}, {importing.Runs, ran}}, text: func(k *keeper) string {
		return k.table(20, "Run date;Run;Yard;Pulled on;Supers;Kind", func(i int) []string {
			return []string{k.day(12 + i), fmt.Sprintf("R%d", i+1), places["en"][i%2], k.day(11 + i), k.supers(20 + i), "deep"}
		})
	}},
	{says: "pulls with the week and its day", language: "en", of: importing.Pulls, yards: 4, text: func(k *keeper) string {
		return k.table(30, "Week;Day;Date;Yard;Supers;Kind", func(i int) []string {
			return []string{count(25 + i/7), time.Weekday(i % 7).String()[:3], k.day(i), k.yards[i%4], k.boxes(), "deep"}
		})
	}},
	{says: "runs with their hours, crew and kilograms an hour", language: "en", of: importing.Runs, yards: 2, text: func(k *keeper) string {
		return k.table(30, "Date;Run;Tank;Honey kg;Hours;Crew;kg per hour", func(i int) []string {
			return []string{k.day(i), fmt.Sprintf("R%02d", i+1), "large tank", count(400 + 6*i), "6", "3", k.aside(float64(400+6*i)/6, 1)}
		})
	}},
	{says: "yards across with the crew's initials and the weather", language: "en", of: importing.Pulls, yards: 6, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		rows := k.grid("Date", k.yards, k.someDays(12), 3, k.boxes)
		for i := range rows {
			rows[i] = append(rows[i], k.pick("AB+JM", "T", "G", "C", "F"), k.pick("sun", "rain 2 mm", "28 C"))
		}
		rows[0][7], rows[0][8] = "Crew", "Weather"
		return k.sheet(rows...)
	}},
	{says: "numbered yards", language: "en", of: importing.Pulls, yards: 2, text: func(k *keeper) string {
		return k.table(60, "Date;Yard;Supers;Kind", func(i int) []string {
			return []string{k.day(i), fmt.Sprintf("Yard %d", i+1), k.boxes(), "deep"}
		})
	}},
	{says: "yards across, kilograms beside deeps of each", language: "en", of: importing.Pulls, yards: 4, answers: wideDeeps(importing.FieldYard), text: func(k *keeper) string {
		heading := []string{"Date"}
		for _, y := range k.yards {
			heading = append(heading, y+" boxes", y+" kg")
		}
		rows := [][]string{heading}
		for _, d := range k.someDays(10) {
			row := []string{d}
			for range k.yards {
				n := 3 + k.IntN(30)
				k.held.entries++
				row = append(row, k.supers(n), k.aside(float64(n)*38, 0))
			}
			rows = append(rows, row)
		}
		return k.sheet(rows...)
	}},
}

// drums are two lots of 40 drums each, and pulled and ran what was pulled and extracted of two yards.
var drums, pulled, ran = func() (drums, pulled, ran string) {
	drums, pulled, ran = "Date,Lot,Tank,Drum,Kind,Gross kg\n", "Date,Yard,Supers,Kind\n", "Date,Run,Tank,Honey kg\n"
	for i := range 80 {
		drums += fmt.Sprintf("2025-07-%02d,L%d,large tank,D-%03d,drum,31%d.5\n", 1+i/4, i/40, i+1, i%10)
	}
	for i := range 20 {
		pulled += fmt.Sprintf("2026-07-%02d,%s,%d,deep\n", 1+i, places["en"][i%2], 20+i)
		ran += fmt.Sprintf("2026-07-%02d,R%d,large tank,%d\n", 2+i, i+1, 400+i*7)
	}
	return drums, pulled, ran
}()

// log is a table of a logger, a row every hour.
func (k *keeper) log(rows int, heading, layout string, row func(i int) []string) string {
	out := k.table(rows, heading, func(i int) []string {
		at := time.Date(2026, 6, 20, 0, 0, 0, 0, time.UTC).Add(time.Duration(i) * time.Hour)
		return append(strings.Split(at.Format(layout), ";"), row(i)...)
	})
	k.held.entries = 0
	return out
}

func wideDeeps(across importing.Field) *importing.Mapping {
	return &importing.Mapping{Fixed: deeps().Fixed, Wide: &importing.Wide{Across: across, Cells: importing.FieldSupers}}
}

var mainKind = map[importing.Kind]ledger.Kind{
	importing.Yards: ledger.KindYard, importing.Pulls: ledger.KindPull, importing.Runs: ledger.KindRun, importing.Readings: ledger.KindReading, importing.Lots: ledger.KindLot,
	importing.Containers: ledger.KindFill, importing.HiveCounts: ledger.KindHiveCount, importing.Sales: ledger.KindDispatch, importing.Transfers: ledger.KindMovement, importing.RunSupers: ledger.KindRunSupers,
}

// A sheet that is honest, whole and kept in one way asks nothing: what it holds comes in.
func TestACleanSheetAsksNothing(t *testing.T) {
	t.Parallel()
	for seed := range uint64(3) {
		for _, c := range cleanSheets {
			k := keeperOf(seed, c.language, c.yards)
			text := c.text(k)
			answers := importing.Mapping{}
			if c.answers != nil {
				answers = *c.answers
			}
			answers.LeaveOutTotals = true // of which it is asked once
			all := map[string]importing.Choice{"*": {Create: &importing.Thing{}}}
			answers.Names = map[importing.Noun]map[string]importing.Choice{importing.NounYard: all, importing.NounLot: all}
			h := newHouse()
			h.SetUp(&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
			for _, f := range c.first {
				h.bring(t, f.of, f.text, func(m *importing.Mapping) { m.Names = answers.Names })
			}
			sheet := table(t, text)
			m, _, err := importing.Settle(h.book(t), sheet, c.of, importing.Sent{Mapping: &answers})
			if err != nil {
				t.Fatal(err)
			}
			r := h.check(t, text, m)
			for _, p := range r.Problems[:min(3, len(r.Problems))] {
				t.Errorf("%s, %d: row %d, column %s: %s, sent %q", c.says, seed, p.Row, p.Column, p.Message, p.Sent)
			}
			if n := r.Entries[mainKind[c.of]]; r.AllProblems == 0 && k.held.entries > 0 && n != k.held.entries {
				t.Errorf("%s, %d: %d came of %d", c.says, seed, n, k.held.entries)
			}
			if r.AllProblems == 0 && c.of == importing.Pulls && r.Sums["supers"]*1000 != k.held.figures {
				t.Errorf("%s, %d: %d supers came of %d", c.says, seed, r.Sums["supers"], k.held.figures/1000)
			}
		}
	}
}
