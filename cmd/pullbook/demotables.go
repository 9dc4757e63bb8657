package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"pullbook/openapi"
)

// printSeason prints the latest season by yard, the tanks and the lots, as the
// service reports them.
func printSeason(ctx context.Context, term *terminal, c *client) error {
	var (
		report openapi.SeasonReport
		tanks  []openapi.TankLine
		lots   []openapi.LotLine
	)
	for path, into := range map[string]any{"reports/season": &report, "reports/tanks": &tanks, "reports/lots": &lots} {
		if err := c.get(ctx, path, into); err != nil {
			return err
		}
	}
	if err := term.titled("Season "+report.Name+", by yard", yardRows(&report)); err != nil {
		return err
	}
	b := report.Balance
	fmt.Fprintf(term.Out, "%d supers extracted gave %s kg; %s kg went to buyers, %s kg are in tanks and %s kg in containers.\n",
		b.SupersExtracted, kilograms(b.HarvestedKg), kilograms(b.DispatchedKg), kilograms(b.InTanksKg), kilograms(b.InContainersKg))
	if err := term.titled("Tanks", tankRows(tanks)); err != nil {
		return err
	}
	return term.titled("Lots", lotRows(lots))
}

// titled writes a table under a title. Columns of numbers end in line.
func (t *terminal) titled(title string, rows [][]string) error {
	fmt.Fprintf(t.Out, "\n%s\n", title)
	return t.table(rightAligned(rows))
}

// rightAligned pads the columns that hold numbers so that their digits align.
func rightAligned(rows [][]string) [][]string {
	for column := range rows[0] {
		width, numbers := 0, true
		for i, row := range rows {
			width = max(width, len(row[column]))
			if _, err := strconv.ParseFloat(strings.ReplaceAll(row[column], " ", ""), 64); err != nil && i > 0 && row[column] != "" {
				numbers = false
			}
		}
		if !numbers {
			continue
		}
		for _, row := range rows {
			row[column] = strings.Repeat(" ", width-len(row[column])) + row[column]
		}
	}
	return rows
}

func yardRows(report *openapi.SeasonReport) [][]string {
	rows := [][]string{{"rank", "yard", "supers", "hives", "honey kg", "kg/super", "kg/hive", "share %", "moisture %", "last season kg"}}
	for _, y := range report.Yards {
		rows = append(rows, []string{
			whole(y.Rank), y.Name, strconv.Itoa(y.SupersExtracted), whole(y.Hives), maybeKilograms(y.HoneyKg),
			tenths(y.KgPerSuper), tenths(y.KgPerHive), percent(y.Share), tenths(y.MoisturePct), maybeKilograms(y.LastSeasonKg),
		})
	}
	return rows
}

func tankRows(tanks []openapi.TankLine) [][]string {
	rows := [][]string{{"tank", "use", "holds kg", "capacity kg", "full %", "moisture %"}}
	for _, t := range tanks {
		rows = append(rows, []string{t.Name, t.Use, kilograms(t.HeldKg), kilograms(t.CapacityKg), tenths(t.FullPct), tenths(t.LastMoisturePct)})
	}
	return rows
}

func lotRows(lots []openapi.LotLine) [][]string {
	rows := [][]string{{"lot", "containers", "net kg", "held kg", "sent kg", "yards", "moisture %"}}
	for _, l := range lots {
		rows = append(rows, []string{l.Code, strconv.Itoa(l.Containers), kilograms(l.NetKg), kilograms(l.HeldKg),
			kilograms(l.DispatchedKg), strconv.Itoa(l.Yards), tenths(l.MoisturePct)})
	}
	return rows
}

// kilograms writes a mass with a space at the thousands.
func kilograms(kg float64) string {
	text := strconv.FormatFloat(kg, 'f', 0, 64)
	for i := len(text) - 3; i > 0 && text[i-1] != '-'; i -= 3 {
		text = text[:i] + " " + text[i:]
	}
	return text
}

func maybeKilograms(kg *float64) string {
	if kg == nil {
		return ""
	}
	return kilograms(*kg)
}

func tenths(x *float64) string {
	if x == nil {
		return ""
	}
	return strconv.FormatFloat(*x, 'f', 1, 64)
}

func percent(share *float64) string {
	if share == nil {
		return ""
	}
	return strconv.FormatFloat(100**share, 'f', 1, 64)
}

func whole(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}
