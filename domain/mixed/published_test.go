package mixed_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/mixed"
	"pullbook/domain/publishedtest"
)

// published is a data set with the names of its levels.
type published struct {
	mixed.Data
	names [2][]string
}

// read takes up a data set as a model of the file has it.
func read(t *testing.T, set, model string) *published {
	t.Helper()
	p := &published{}
	p.Groupings = make([]mixed.Grouping, 1+strings.Count(model, "group2"))
	for _, row := range publishedtest.Lines(t, "testdata/observations.csv") {
		if row[0] != set {
			continue
		}
		p.Y = append(p.Y, publishedtest.Number(t, row[1]))
		fixed := []float64{1}
		if strings.Contains(model, "~ x") {
			fixed = append(fixed, publishedtest.Number(t, row[4]))
		}
		p.X = append(p.X, fixed)
		for i := range p.Groupings {
			p.into(i, row[2+i])
		}
		if strings.Contains(model, "(x|") {
			p.Groupings[0].Slope = append(p.Groupings[0].Slope, fixed[1])
		}
	}
	if len(p.Y) == 0 {
		t.Fatalf("no data set %s", set)
	}
	return p
}

func (p *published) into(grouping int, name string) {
	g := &p.Groupings[grouping]
	level := slices.Index(p.names[grouping], name)
	if level < 0 {
		level = g.Levels
		p.names[grouping] = append(p.names[grouping], name)
		g.Levels++
	}
	g.Level = append(g.Level, level)
}

func fit(t *testing.T, d mixed.Data, by mixed.Method) *mixed.Fit {
	t.Helper()
	m, err := mixed.New(d)
	if err != nil {
		t.Fatal(err)
	}
	return m.Fit(by)
}

var methods = map[string]mixed.Method{"REML": mixed.REML, "ML": mixed.ML}

// figure is what a fit says of a line of fits.csv.
func (p *published) figure(t *testing.T, f *mixed.Fit, quantity, level string) float64 {
	t.Helper()
	group := func(of string) (int, bool) {
		second := strings.Contains(of, "sample")
		if second {
			return 1, false
		}
		return 0, strings.Contains(of, "Days")
	}
	switch {
	case quantity == "criterion":
		return f.Criterion
	case quantity == "variance" && level == "Residual":
		return f.Residual
	case quantity == "variance":
		g, slope := group(level)
		if slope {
			return f.Groupings[g].SlopeVariance
		}
		return f.Groupings[g].Variance
	case quantity == "correlation":
		return f.Groupings[0].Correlation
	case strings.HasPrefix(quantity, "fixed effect"):
		e := f.Fixed[0]
		if level != "(Intercept)" {
			e = f.Fixed[1]
		}
		if strings.HasSuffix(quantity, "error") {
			return e.SE
		}
		return e.Value
	}
	g, slope := group(quantity)
	effects := f.Groupings[g].Effects
	if slope {
		effects = f.Groupings[g].Slopes
	}
	if level == "each" {
		for _, e := range effects {
			if math.Abs(e.SD-effects[0].SD) > 1e-9*effects[0].SD {
				t.Errorf("%s: %v and %v, and the data are balanced", quantity, e.SD, effects[0].SD)
			}
		}
		return effects[0].SD
	}
	return effects[slices.Index(p.names[g], level)].Value
}

// Every variance, criterion, fixed effect, prediction and its standard deviation of seven fits of five data
// sets comes out as another program has it, to the digits to which that has searched: six or more.
func TestPublishedDataAreFittedAsAnotherProgramFitsThem(t *testing.T) {
	t.Parallel()
	type key struct{ set, model, method string }
	fits, sets, worst := map[key]*mixed.Fit{}, map[key]*published{}, 0.0
	for _, row := range publishedtest.Lines(t, "testdata/fits.csv") {
		k := key{row[0], row[1], row[2]}
		if fits[k] == nil {
			sets[k] = read(t, k.set, k.model)
			fits[k] = fit(t, sets[k].Data, methods[k.method])
		}
		want := publishedtest.Number(t, row[5])
		got := sets[k].figure(t, fits[k], row[3], row[4])
		// Predictions near 0 are as far off as the others of their grouping.
		near := 3e-6 * max(math.Abs(want), 0.05*math.Sqrt(fits[k].Residual))
		if row[3] == "criterion" {
			near = 1e-7 * want
		}
		worst = max(worst, math.Abs(got-want)/max(math.Abs(want), 1e-3))
		if !(math.Abs(got-want) <= near) {
			t.Errorf("%s, %s by %s: %s %s is %.9g, want %.9g", k.set, k.model, k.method, row[3], row[4], got, want)
		}
	}
	if len(fits) != 7 {
		t.Errorf("%d fits, want 7", len(fits))
	}
	t.Logf("the largest difference is %.1e of the figure", worst)
}

// The short figures are those that Bates prints (lme4: mixed-effects modeling with R, chapters 1 and 4), and
// Pinheiro and Bates of the rails (2000, chapter 1); from memory.
func TestPrintedFiguresComeOut(t *testing.T) {
	t.Parallel()
	sd := math.Sqrt
	check := func(what string, got, want float64, places int) {
		t.Helper()
		if scale := math.Pow10(places); math.Round(got*scale) != math.Round(want*scale) {
			t.Errorf("%s is %v, printed is %v", what, got, want)
		}
	}
	f := fit(t, read(t, "dyestuff", "y ~ 1 + (1|group1)").Data, mixed.REML)
	check("between batches of dyestuff", sd(f.Groupings[0].Variance), 42.00, 2)
	check("within", sd(f.Residual), 49.51, 2)
	check("their mean", f.Fixed[0].Value, 1527.5, 1)
	check("its standard error", f.Fixed[0].SE, 19.38, 2)
	f = fit(t, read(t, "penicillin", "y ~ 1 + (1|group1) + (1|group2)").Data, mixed.REML)
	check("between plates", sd(f.Groupings[0].Variance), 0.8467, 4)
	check("between samples", sd(f.Groupings[1].Variance), 1.9316, 4)
	check("within", sd(f.Residual), 0.5499, 4)
	f = fit(t, read(t, "rail", "y ~ 1 + (1|group1)").Data, mixed.REML)
	check("between rails", sd(f.Groupings[0].Variance), 24.81, 2)
	check("within", sd(f.Residual), 4.02, 2)
	f = fit(t, read(t, "sleepstudy", "y ~ x + (x|group1)").Data, mixed.REML)
	check("between people", sd(f.Groupings[0].Variance), 24.74, 2)
	check("their slopes", sd(f.Groupings[0].SlopeVariance), 5.92, 2)
	check("both together", f.Groupings[0].Correlation, 0.07, 2)
	check("within", sd(f.Residual), 25.59, 2)
}

// With the ratio that gives the factor of James and Stein, the predicted averages are theirs, and they come
// nearer to the rest of the season than the averages themselves.
func TestBattersAreShrunkAsJamesAndSteinHaveIt(t *testing.T) {
	t.Parallel()
	rows := publishedtest.Lines(t, "testdata/shrunk.csv")
	d := mixed.Data{Groupings: []mixed.Grouping{{Levels: len(rows)}}}
	mean := 0.0
	for i, row := range rows {
		d.Y = append(d.Y, publishedtest.Number(t, row[1])/45)
		d.X = append(d.X, []float64{1})
		d.Groupings[0].Level = append(d.Groupings[0].Level, i)
		mean += d.Y[i] / float64(len(rows))
	}
	spread := 0.0
	for _, y := range d.Y {
		spread += (y - mean) * (y - mean)
	}
	factor := 1 - float64(len(rows)-3)*mean*(1-mean)/45/spread
	m, err := mixed.New(d)
	if err != nil {
		t.Fatal(err)
	}
	f := m.At(mixed.REML, []float64{math.Sqrt(factor / (1 - factor))})
	var raw, shrunk float64
	for i, row := range rows {
		estimate, season := f.Fixed[0].Value+f.Groupings[0].Effects[i].Value, publishedtest.Number(t, row[4])
		if math.Abs(estimate-publishedtest.Number(t, row[3])) > 1e-6 {
			t.Errorf("%s is put at %.6f, want %s", row[0], estimate, row[3])
		}
		raw += (d.Y[i] - season) * (d.Y[i] - season)
		shrunk += (estimate - season) * (estimate - season)
	}
	if math.Round(1000*factor) != 212 || math.Round(1000*f.Fixed[0].Value) != 265 {
		t.Errorf("factor %.4f and mean %.4f, printed are 0.212 and 0.265", factor, f.Fixed[0].Value)
	}
	if !(raw > 3.4*shrunk) {
		t.Errorf("squared errors %.4f of the averages and %.4f of the estimates, want three and a half times as much", raw, shrunk)
	}
}
