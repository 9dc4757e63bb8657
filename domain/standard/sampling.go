package standard

import (
	"cmp"
	"crypto/sha256"
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"
)

// SamplingPlan says how many containers of a lot are to be sampled, step by step
// by the size of the lot.
type SamplingPlan struct {
	ID     string         `json:"id"`
	Title  string         `json:"title"`
	Clause string         `json:"clause"`
	Steps  []SamplingStep `json:"steps"`
	Note   string         `json:"note,omitempty"`
	Source Source         `json:"source"`
}

// SamplingStep holds for lots of From to To containers (To 0: and more). The
// number is the largest of the parts that are filled in, never more than the lot.
type SamplingStep struct {
	From     int     `json:"from"`
	To       int     `json:"to,omitempty"`
	All      bool    `json:"all,omitempty"`
	Fixed    int     `json:"fixed,omitempty"`
	Percent  float64 `json:"percent,omitempty"`   // of the lot, rounded up
	RootPlus int     `json:"root_plus,omitempty"` // square root of the lot rounded up, plus this
}

//go:embed data/sampling-plans.json
var plansJSON []byte

var (
	planList = mustDecode[[]SamplingPlan](plansJSON)
	planByID = indexPlans(planList)
)

// defaultPlanID is used where a standard fixes no number of containers, which is
// every honey standard read.
const defaultPlanID = "every-drum-to-ten"

func indexPlans(list []SamplingPlan) map[string]SamplingPlan {
	byID := make(map[string]SamplingPlan, len(list))
	for _, plan := range list {
		byID[plan.ID] = plan
	}
	return byID
}

// SamplingPlans lists the plans that a rule set may name.
func SamplingPlans() []SamplingPlan { return slices.Clone(planList) }

// Containers is how many of a lot's containers the plan asks for; 0 for an empty
// or unknown lot, since every plan's first step begins at 1.
func (p SamplingPlan) Containers(lotSize int) int {
	for _, step := range p.Steps {
		if lotSize >= step.From && (step.To == 0 || lotSize <= step.To) {
			return step.containers(lotSize)
		}
	}
	return 0
}

func (s SamplingStep) containers(lotSize int) int {
	n := max(s.Fixed, int(math.Ceil(s.Percent*float64(lotSize)/100)))
	if s.RootPlus > 0 {
		n = max(n, int(math.Ceil(math.Sqrt(float64(lotSize))))+s.RootPlus)
	}
	if s.All {
		n = lotSize
	}
	return min(n, lotSize)
}

// Draw is a sample of containers.
type Draw struct {
	Plan       SamplingPlan
	LotSize    int
	Containers []string // in the order drawn
}

// DrawSample says which containers of a lot to sample for this rule set. The draw
// is decided by the seed, which is recorded: containers are ranked by the SHA-256
// of seed and container number, and the first ones taken, so that anyone can draw
// again and the order in which containers are listed changes nothing.
func (s *RuleSet) DrawSample(containers []string, seed string) (Draw, error) {
	return s.SamplingPlan().Draw(containers, seed)
}

// SamplingPlan is the plan the rule set works with: its own, or the default where
// it fixes none.
func (s *RuleSet) SamplingPlan() SamplingPlan {
	switch {
	case s.Sampling == nil:
		return planByID[defaultPlanID]
	case s.Sampling.Plan != "":
		return planByID[s.Sampling.Plan]
	}
	return SamplingPlan{ID: s.ID, Title: "the rule set's own plan", Clause: s.Citation, Steps: s.Sampling.Steps, Source: s.Source}
}

func (s *Sampling) validate(field string, p *problems) {
	if (s.Plan == "") == (len(s.Steps) == 0) {
		p.add(field, s.Plan, "give either plan or steps")
		return
	}
	if _, ok := planByID[s.Plan]; s.Plan != "" && !ok {
		p.add(field+"/plan", s.Plan, "one of %s", quotedList(sortedKeys(planByID)))
	}
	next := 1
	for i, step := range s.Steps {
		step.validate(fmt.Sprintf("%s/steps/%d", field, i), next, i == len(s.Steps)-1, p)
		next = step.To + 1
	}
}

// validate wants steps that follow one another from a lot of one to any size, so
// that every lot has its number.
func (s SamplingStep) validate(field string, from int, last bool, p *problems) {
	if s.From != from {
		p.add(field+"/from", fmt.Sprint(s.From), "the step starts at %s, so that no size of lot is left out", from)
	}
	if last != (s.To == 0) || s.To != 0 && s.To < s.From {
		p.add(field+"/to", fmt.Sprint(s.To), "the last step is open, every other ends at or above its start")
	}
	if !s.All && s.Fixed <= 0 && !(s.Percent > 0) && s.RootPlus <= 0 {
		p.add(field, fmt.Sprint(s.From), "say all, fixed, percent or root_plus")
	}
	if s.Fixed < 0 || s.Percent < 0 || s.Percent > 100 || s.RootPlus < 0 {
		p.add(field, fmt.Sprint(s.From), "fixed and root_plus are 0 or more, percent from 0 to 100")
	}
}

// Draw picks containers as RuleSet.DrawSample does.
func (p SamplingPlan) Draw(containers []string, seed string) (Draw, error) {
	var wrong problems
	if strings.TrimSpace(seed) == "" {
		wrong.add("seed", "", "a draw has to be recorded with its seed")
	}
	if len(containers) == 0 {
		wrong.add("containers", "", "name the containers of the lot")
	}
	ranked := slices.Clone(containers)
	slices.SortFunc(ranked, func(a, b string) int { return cmp.Compare(rank(seed, a), rank(seed, b)) })
	for i := 1; i < len(ranked); i++ {
		if ranked[i] == ranked[i-1] {
			wrong.add("containers", ranked[i], "each container is named once")
		}
	}
	if len(wrong) > 0 {
		return Draw{}, wrong.err()
	}
	return Draw{Plan: p, LotSize: len(containers), Containers: ranked[:p.Containers(len(containers))]}, nil
}

func rank(seed, container string) string {
	return fmt.Sprintf("%x", sha256.Sum256([]byte(seed+"\n"+container)))
}
