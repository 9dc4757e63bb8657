package api_test

import (
	"html"
	"regexp"
	"strings"
	"testing"
)

const askWarmingPlan = "/plans/warming?ask=plan-warming&to=liquid&hours=48&probability=0.8&hmf_kwh=20&around=still_air&kwh_price=0.4&what=tank+"

func TestThePageFindsTheWarmingThatTheContractFinds(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	best := s.warming(t, "tank=warmer&to=liquid&kwh_price=0.4&"+byHour(48)).Choices[0]
	text, page := s.shows(t, askWarmingPlan+warmer)
	wants(t, "the page of a warming", text, "The best way", best.Says, "As hot as allowed", "As it is done now", "Hold 42", "Beside other ways", "money", "Look at it from", "Take care", "infants", "learned from 1 cooling")
	if strings.Contains(page, "aria-invalid") || strings.Contains(text, "_c)") || strings.Contains(text, "crystals_pct") {
		t.Error("something is wrong with a warming that can be asked for, or it speaks to a program")
	}
	drawing := regexp.MustCompile(`src="(/plans/warming/drawing\.svg\?[^"]+)"`).FindStringSubmatch(page)
	if drawing == nil {
		t.Fatal("no drawing")
	}
	if _, svg := s.shows(t, html.UnescapeString(drawing[1])); !strings.HasPrefix(svg, "<?xml") || !strings.Contains(svg, "set point") {
		t.Errorf("the drawing begins %.200s", svg)
	}
	spanish, _ := s.shows(t, askWarmingPlan+warmer, "es")
	wants(t, "the page in Spanish", spanish, "La mejor manera", "Mantener", "Precauciones")
}

func TestThePageSaysWhatIsWrongWithAWarming(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	short, _ := s.shows(t, strings.Replace(askWarmingPlan, "hours=48", "hours=3", 1)+warmer)
	wants(t, "three hours", short, "Not by then", "it takes until", "As hot as allowed", "not by then")
	for change, says := range map[string]string{
		"hours=0": "less than an hour away", "hours=many": "many", "hours=400": "whole number from 0 to 336", "to=pumpable": "say how thick",
	} {
		name, _, _ := strings.Cut(change, "=")
		asked := regexp.MustCompile(name+"=[a-z0-9]+").ReplaceAllString(askWarmingPlan, change)
		text, page := s.shows(t, asked+warmer)
		if !strings.Contains(text, says) || !strings.Contains(page, "aria-invalid") {
			t.Errorf("%s: %q is not said", change, says)
		}
	}
	nothing, _ := s.shows(t, "/plans/warming")
	wants(t, "the form", nothing, "How hot and how long", "warmer", "containers of L26-001")
}
