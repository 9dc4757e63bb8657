package deliver

import (
	"encoding/json"
	"strings"
	"time"

	"github.com/google/uuid"

	"pullbook/api/locale"
	"pullbook/api/reports"
	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// evening is what the first page tells of a day, without words.
type evening struct {
	outfit   string
	outfitID uuid.UUID
	link     string
	at       time.Time
	through  int64
	open     int
	openG    int64
	first    []season.Odd
	tanksG   int64
	runs     []string
	supers   int
	held     []string
	soon     []quality.Dated
	limits   bool
}

const (
	// mostOdd bounds what is told of findings; the page has the rest.
	mostOdd = 20
	// soonDays is how far ahead dates are told.
	soonDays = 7
)

// eveningOf takes what is told from a book.
func eveningOf(b *ledger.Book, now time.Time) (evening, error) {
	list, shed := season.Evening(b), season.ShedOf(b)
	e := evening{at: now, through: b.Len(), open: len(list.Open), openG: list.OpenG, tanksG: b.State().Totals().InTanks}
	for _, flag := range list.Open[:min(len(list.Open), mostOdd)] {
		e.first = append(e.first, season.OddOf(b, flag))
	}
	for _, r := range shed.Runs {
		e.runs = append(e.runs, r.Run.Name)
	}
	for _, p := range shed.Pulls {
		n, _ := p.Supers(b)
		e.supers += n
	}
	for _, l := range shed.Lots {
		if l.Status == ledger.StatusHeld {
			e.held = append(e.held, l.Lot.Code)
		}
	}
	today := now.In(b.Location())
	on := standard.Date(today.Format(time.DateOnly))
	sets, err := reports.RuleSetsInUse(b, nil, on)
	if err != nil {
		return e, err
	}
	dates, err := quality.Dates(b, sets, on)
	last := standard.Date(today.AddDate(0, 0, soonDays).Format(time.DateOnly))
	for _, d := range dates {
		if d.From <= last && d.To >= on || d.Kind == ledger.KindInstrument && d.From < on { // a check that is overdue stays due
			e.soon = append(e.soon, d)
			e.limits = e.limits || strings.HasPrefix(d.Key, "limit-")
		}
	}
	return e, err
}

// mail is the evening as the text of a mail, whose first line is the subject.
func (e *evening) mail(f locale.Voice) string {
	day := f.Day(e.at)
	odd := message.Plural{N: float64(e.open), One: "%s finding", Other: "%s findings"}
	lines := []string{f.Say("%s, %s: %s to look at", e.outfit, day, odd), "", e.outfit, f.Region.FmtDateFull(e.at.In(f.Zone)), ""}
	if e.open == 0 {
		lines = append(lines, f.Say("Nothing is to be looked at."))
	} else {
		lines = append(lines, f.Say("To look at: %s, about %s of honey.", odd, message.Kg(wire.Kg(e.openG))))
	}
	for _, o := range e.first {
		lines = append(lines, "- "+f.Day(o.OccurredAt)+": "+o.Sentence.In(f))
	}
	if more := e.open - len(e.first); more > 0 {
		lines = append(lines, f.Say("and %s more", f.Count(more)))
	}
	lines = append(lines, "", f.Say("In the tanks: %s.", message.Kg(wire.Kg(e.tanksG))))
	if len(e.runs) > 0 {
		lines = append(lines, f.Say("Runs that were not ended: %s.", strings.Join(e.runs, ", ")))
	}
	if e.supers > 0 {
		lines = append(lines, f.Say("Supers that wait: %s.", f.Count(e.supers)))
	}
	if len(e.held) > 0 {
		lines = append(lines, f.Say("Lots on hold: %s.", strings.Join(e.held, ", ")))
	}
	if len(e.soon) > 0 {
		lines = append(lines, "", f.Say("In these days:"))
		for _, d := range e.soon {
			lines = append(lines, "- "+f.Date(string(d.From))+": "+d.What.In(f))
		}
	}
	if e.limits {
		lines = append(lines, f.Say("What is said of limits is an estimate, and no result of a laboratory."))
	}
	if e.link != "" {
		lines = append(lines, "", e.link+"/")
	}
	return strings.Join(lines, "\n") + "\n"
}

// The payload of a web hook. Masses are kilograms, sentences English, as for all programs.
type (
	payload struct {
		Type      string      `json:"type"`
		Timestamp time.Time   `json:"timestamp"`
		Data      payloadData `json:"data"`
	}
	payloadData struct {
		OutfitID     uuid.UUID        `json:"outfit_id"`
		Outfit       string           `json:"outfit"`
		Day          string           `json:"day"`
		ThroughEntry int64            `json:"through_entry"`
		FindingsOpen int              `json:"findings_open"`
		OpenKg       float64          `json:"findings_kg"`
		Findings     []payloadFinding `json:"findings"`
		TanksKg      float64          `json:"in_tanks_kg"`
		RunsOpen     []string         `json:"runs_open"`
		SupersWait   int              `json:"supers_waiting"`
		LotsOnHold   []string         `json:"lots_on_hold"`
		Dates        []payloadDate    `json:"dates"`
		Page         string           `json:"page,omitempty"`
	}
	payloadFinding struct {
		Code       string    `json:"code"`
		EntryID    ledger.ID `json:"entry_id"`
		OccurredAt time.Time `json:"occurred_at"`
		Kg         float64   `json:"kg"`
		Sentence   string    `json:"sentence"`
	}
	payloadDate struct {
		Day  string `json:"day"`
		What string `json:"what"`
	}
)

// EveningType is the type of a web hook's message.
const EveningType = "evening.page"

// mostPayload is how large a payload may be; Standard Webhooks asks for less than 20 kB.
const mostPayload = 19_000

// json is the evening as a web hook's payload. Lists are cut until it fits; the counts stay.
func (e *evening) json(loc *time.Location) (string, error) {
	data := payloadData{
		OutfitID: e.outfitID, Outfit: e.outfit, Day: e.at.In(loc).Format(time.DateOnly), ThroughEntry: e.through, FindingsOpen: e.open, OpenKg: wire.Kg(e.openG),
		Findings: []payloadFinding{}, TanksKg: wire.Kg(e.tanksG), RunsOpen: []string{}, SupersWait: e.supers, LotsOnHold: []string{}, Dates: []payloadDate{},
	}
	if e.link != "" {
		data.Page = e.link + "/"
	}
	data.RunsOpen, data.LotsOnHold = append(data.RunsOpen, e.runs...), append(data.LotsOnHold, e.held...)
	for _, o := range e.first {
		data.Findings = append(data.Findings, payloadFinding{string(o.Code), o.Entry, o.OccurredAt, wire.Kg(o.MassG), o.Sentence.String()})
	}
	for _, d := range e.soon {
		data.Dates = append(data.Dates, payloadDate{string(d.From), d.What.String()})
	}
	for {
		text, err := json.Marshal(payload{EveningType, e.at.UTC(), data})
		if err != nil || len(text) <= mostPayload {
			return string(text), err
		}
		data.Findings, data.Dates = data.Findings[:len(data.Findings)/2], data.Dates[:len(data.Dates)/2]
		data.RunsOpen, data.LotsOnHold = data.RunsOpen[:len(data.RunsOpen)/2], data.LotsOnHold[:len(data.LotsOnHold)/2]
	}
}
