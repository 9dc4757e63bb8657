package feeds

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// reckoned is a column that is worked out from others, as somebody who edits one expects.
type reckoned struct {
	// formula has {name} for the cell of that column in the row, and {Sheet.name} for all
	// cells of that column in a sheet.
	formula string
	// where is a column: the formula stands where that has a value. Empty means everywhere.
	where string
}

// reckonedBy are the columns with formulas, by sheet. From a weight in the pulls or runs they lead through the
// shares to the yards. A row is found by its number: sheets may be sorted. A pull of another season has none,
// and stands with its own figures in the shares.
var reckonedBy = map[string]map[string]reckoned{
	yardsSheet: {
		"rank":         {formula: `RANK({honey_kg},{Yards.honey_kg})`, where: "rank"},
		"honey_kg":     {formula: `ROUND(SUMIFS({Shares.honey_kg},{Shares.yard_no},{no}),3)`, where: "honey_kg"},
		"share_pct":    {formula: `IF(SUM({Runs.honey_kg})=0,0,100*{honey_kg}/SUM({Runs.honey_kg}))`, where: "share_pct"},
		"kg_per_super": {formula: `IF(N({supers_extracted})=0,"",ROUND(SUMIFS({Shares.honey_kg},{Shares.yard_no},{no}),3)/{supers_extracted})`, where: "kg_per_super"},
		"kg_per_hive":  {formula: `IF(N({hives})=0,"",{honey_kg}/{hives})`, where: "honey_kg"},
		"change_kg":    {formula: `{honey_kg}-{last_season_kg}`, where: "change_kg"},
		"change_pct":   {formula: `IF({last_season_kg}=0,"",100*{change_kg}/{last_season_kg})`, where: "change_kg"},
	},
	pullsSheet: {"net_kg": {formula: `IF(N({gross_kg})=0,"",{gross_kg}-{tare_kg})`}},
	runsSheet:  {"kg_per_super": {formula: `IF({supers}=0,"",{honey_kg}/{supers})`}},
	sharesSheet: {
		"pull_net_kg":   {formula: `SUMIFS({Pulls.net_kg},{Pulls.no},{pull_no})`, where: "pull_no"},
		"pull_usual_kg": {formula: `SUMIFS({Pulls.usual_net_kg},{Pulls.no},{pull_no})`, where: "pull_no"},
		"of_usual_pct":  {formula: `IF(OR({pull_net_kg}<=0,{pull_usual_kg}=0),0,100*{pull_net_kg}/{pull_usual_kg})`, where: "usual_kg"},
		"weight_kg":     {formula: `IF(COUNTIFS({Shares.run_no},{run_no},{Shares.of_usual_pct},0)>0,{usual_kg},{usual_kg}*{of_usual_pct}/100)`, where: "usual_kg"},
		"share_pct":     {formula: `IF(SUMIFS({Shares.weight_kg},{Shares.run_no},{run_no})=0,0,100*{weight_kg}/SUMIFS({Shares.weight_kg},{Shares.run_no},{run_no}))`},
		"honey_kg":      {formula: `{share_pct}/100*SUMIFS({Runs.honey_kg},{Runs.no},{run_no})`},
	},
	tanksSheet: {"full_pct": {formula: `IF({capacity_kg}=0,"",100*{net_kg}/{capacity_kg})`}},
	drumsSheet: {"net_kg": {formula: `{gross_kg}-{tare_kg}`}},
}

// mostShares is up to how many rows the shares have formulas: each looks through all of them. The yards
// then follow the shares and no further.
const mostShares = 5000

// reckonedIn are the formulas of a sheet of so many rows.
func reckonedIn(sheet string, rows int) map[string]reckoned {
	if sheet == sharesSheet && rows > mostShares {
		return nil
	}
	return reckonedBy[sheet]
}

var inFormula = regexp.MustCompile(`\{(?:(\w+)\.)?(\w+)\}`)

// formula puts cells into a formula; row is that of the cell which it is for.
func (w *seasonBook) formula(formula, sheet string, row int) string {
	return inFormula.ReplaceAllStringFunc(formula, func(named string) string {
		m := inFormula.FindStringSubmatch(named)
		if m[1] == "" {
			return cellOf(w.sheets[sheet].columnOf(m[2]), row)
		}
		of := w.sheets[m[1]]
		letter, _ := excelize.ColumnNumberToName(of.columnOf(m[2]) + 1) // is one of its columns
		return fmt.Sprintf("'%s'!$%s$%d:$%s$%d", strings.ReplaceAll(w.sheetName(m[1]), "'", "''"), letter, headRow+1, letter, of.lastRow())
	})
}

// addedRows are how many rows below those of pulls and runs the formulas look at as well: somebody may write one there.
const addedRows = 200

// lastRow is the last row that formulas look at.
func (s *seasonSheet) lastRow() int {
	last := headRow + max(s.noted.rows, 1)
	if s.sheet == pullsSheet || s.sheet == runsSheet {
		last += addedRows
	}
	return last
}

func (s *seasonSheet) columnOf(name string) int {
	at := slices.Index(s.metric, name)
	if at < 0 {
		panic("the season's workbook has no column " + name) // the formulas are part of the program
	}
	return at
}

func cellOf(column, row int) string {
	name, err := excelize.CoordinatesToCellName(column+1, row)
	if err != nil {
		panic(err) // columns and rows are counted from what was written
	}
	return name
}
