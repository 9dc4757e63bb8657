package pages

import (
	"strings"

	"github.com/getkin/kin-openapi/openapi3"

	"pullbook/api/feeds"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/domain/balance"
	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/standard"
	"pullbook/domain/tables"
)

// enumerations are the sentences that end in a word from a list, by what they
// begin with.
func enumerations() map[string][]string {
	out := map[string][]string{}
	add := func(beginning string, words ...string) {
		for _, w := range words {
			out[beginning] = append(out[beginning], beginning+strings.ReplaceAll(w, "_", " "))
		}
	}
	for _, kind := range ledger.Kinds() {
		add("kind|", string(kind))
	}
	add("kind|", string(ledger.KindUnreadable))
	add("kind|", string(ledger.PlaceContainer), string(ledger.PlaceWaste)) // places that are no kind of entry
	for o := standard.DoesNotApply; o <= standard.Fails; o++ {
		add("outcome|", o.String())
	}
	for _, p := range standard.Parameters() {
		if said := standard.SayParameter(p.ID).String(); said != "HMF" { // it is the same as a heading
			add("parameter|", said)
		}
		add("word|", p.Words...)
	}
	for beginning, sentences := range standard.OwnWords() {
		for _, w := range sentences {
			out[beginning] = append(out[beginning], beginning+w)
		}
	}
	for _, s := range []ledger.Status{ledger.StatusOpen, ledger.StatusHeld, ledger.StatusReleased, ledger.StatusGone} {
		add("lot|", string(s))
	}
	for _, r := range holdReasons {
		add("held|", string(r))
	}
	for _, how := range []ledger.Allocation{ledger.Weighed, ledger.SharedOut, ledger.OnePull, ledger.NoSupers} {
		add("told|", string(how))
	}
	add("quantity|", "HMF at the start", "limit of HMF", "diastase at the start", "limit of diastase",
		"mass", "loss coefficient", "specific heat", "wall allowance", "share of honey at the wall", "temperature at the wall", "width", "height", "length", "diameter")
	add("unit|", "%", "of index", "Brix", "W/K", "kJ/(kg K)")
	for _, state := range []season.ContainerState{season.Held, season.Dispatched, season.Reworked, season.Wasted} {
		add("container|", string(state))
	}
	for risk := standard.RiskLow; risk <= standard.RiskHigh; risk++ {
		add("risk|", risk.String())
	}
	add("form|", "upright_cylinder", "cone_bottom", "lying_cylinder", "box", "dip_table")
	for _, k := range importing.Kinds() {
		add("table|", string(k))
		for _, f := range importing.FieldsOf(k) {
			add("column|", f.Words())
			for _, u := range importing.UnitsOf(f) {
				add("sheet unit|", string(u))
			}
		}
	}
	for _, label := range acrossLabels {
		add("across|", label)
	}
	for _, word := range fromWords {
		add("from|", word)
	}
	add("mark|", string(importing.Point), string(importing.Comma))
	add("dates|", string(tables.DayFirst), string(tables.MonthFirst))
	add("taken out|", string(importing.LeaveOut), string(importing.BringIn))
	for _, word := range alikeWords {
		add("alike|", word)
	}
	add("turned|", string(importing.AsTheyStand), string(importing.TurnedRound))
	add("log|", "reading", "set point")
	names, headings := feeds.Sentences()
	add("sheet name|", names...)
	out["heading|"] = append(out["heading|"], headings...)
	add("layer|", string(balance.Top), string(balance.Bottom), string(balance.Elsewhere))
	out["check"] = []string{ledger.NothingStored}
	for _, group := range nav {
		out["nav"] = append(out["nav"], group.Name)
		for _, n := range group.Items {
			out["nav"] = append(out["nav"], n.Name)
		}
	}
	for _, p := range request.ProblemOf {
		out["problem"] = append(out["problem"], p.Title)
	}
	kinds, err := request.RecordedBy()
	if err != nil {
		panic(err) // the contract is part of the program
	}
	var schemas []*openapi3.Schema
	for _, by := range kinds {
		schemas = append(schemas, by.Schema)
	}
	for _, sentence := range form.Sentences(schemas) {
		beginning, _, _ := strings.Cut(sentence, "|")
		out[beginning+"|"] = append(out[beginning+"|"], sentence)
	}
	for _, title := range sectionTitle {
		out["section"] = append(out["section"], title)
	}
	return out
}
