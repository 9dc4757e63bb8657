package season

import (
	"math"
	"time"

	"pullbook/domain/ledger"
)

// RunLine is one run of extracting.
type RunLine struct {
	RunID     ledger.ID
	Name      string
	StartedAt time.Time
	// Supers went in, by kind.
	Supers      []KindCount
	SupersTotal int
	Loads       int
	Frames      int
	// BoxesByFrames is the frames of all loads over the frames of a super, to
	// a tenth: 58 frames at ten a super are 5.8.
	BoxesByFrames  float64
	SetAsideFrames int
	HoneyG         int64
	// KgPerSuper is honey over supers, nil where none were booked.
	KgPerSuper *float64
	WaxG       int64
	// WaxPct is wax in percent of honey; nil where there is no honey.
	WaxPct      *float64
	MoisturePct *float64
	// How says how the honey was shared among pulls; MakeUp splits HoneyG.
	How    ledger.Allocation
	MakeUp []Source
}

// usualFramesPerSuper stands in where a run has loads but no supers booked;
// common practice.
const usualFramesPerSuper = 10

// Runs lists a season's runs in order of occurrence. It fails where seasonID
// names no season that stands.
func Runs(b *ledger.Book, seasonID ledger.ID) ([]RunLine, error) {
	s, err := inForce[ledger.Season](b, seasonID, "season")
	if err != nil {
		return nil, err
	}
	return runs(b, func(r *runFacts) bool { return s.Holds(r.at, b.Location()) }), nil
}

// EveryRun lists the runs of all times in order of occurrence.
func EveryRun(b *ledger.Book) []RunLine { return runs(b, func(*runFacts) bool { return true }) }

func runs(b *ledger.Book, take func(*runFacts) bool) []RunLine {
	var out []RunLine
	for _, r := range gather(b).runsInOrder {
		if take(r) {
			out = append(out, r.line(b))
		}
	}
	return out
}

func (r *runFacts) line(b *ledger.Book) RunLine {
	supers := r.supers.total()
	return RunLine{
		RunID: r.id, Name: r.run.Name, StartedAt: r.at,
		Supers: r.supers.counts(b), SupersTotal: supers,
		Loads: r.loads, Frames: r.frames,
		BoxesByFrames:  math.Round(10*float64(r.frames)/r.framesPerSuper(b)) / 10,
		SetAsideFrames: r.setAside,
		HoneyG:         r.honeyG, KgPerSuper: ratio(kg(r.honeyG), float64(supers)),
		WaxG: r.waxG, WaxPct: ratio(100*kg(r.waxG), kg(r.honeyG)),
		MoisturePct: r.moisture.value(),
		How:         r.harvest.How, MakeUp: makeUp(b, r.harvest.Mix, r.honeyG),
	}
}

// framesPerSuper is the mean over the supers that went in.
func (r *runFacts) framesPerSuper(b *ledger.Book) float64 {
	var frames mean
	for id, n := range r.supers {
		if k := ledger.Named[ledger.SuperKind](b, id); k != nil && k.FramesPerSuper > 0 {
			frames.add(float64(k.FramesPerSuper), float64(n))
		}
	}
	if v := frames.value(); v != nil {
		return *v
	}
	return usualFramesPerSuper
}
