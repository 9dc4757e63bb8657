package certificate

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"pullbook/api/locale"
	"pullbook/domain/season"
)

// MostRows is how many rows a table of a certificate has, so that it prints on two
// pages: what has more is drawn together.
const MostRows = 60

// containerRows has a row for each container, or one for each kind and state
// where there are many.
func containerRows(f locale.Voice, containers []season.Container, most int) []containerRow {
	row := func(number string, kind string, tareG, grossG, netG int64, state season.ContainerState) containerRow {
		return containerRow{number, kind, f.Grams(tareG), f.Grams(grossG), f.Grams(netG), ContainerState(f, string(state))}
	}
	var out []containerRow
	if len(containers) <= most {
		for _, c := range containers {
			out = append(out, row(c.Number, c.Kind, c.TareG, c.GrossG, c.NetG, c.State))
		}
		return out
	}
	together(containers, func(c season.Container) [2]string { return [2]string{c.Kind, string(c.State)} }, func(of []season.Container) {
		var numbers []string
		var tare, gross, net int64
		for _, c := range of {
			numbers = append(numbers, c.Number)
			tare, gross, net = tare+c.TareG, gross+c.GrossG, net+c.NetG
		}
		out = append(out, row(f.Count(len(of))+": "+numberRanges(f, numbers), of[0].Kind, tare, gross, net, of[0].State))
	})
	return out
}

// ContainerState is where a container is.
func ContainerState(f locale.Voice, state string) string { return f.Say("container|" + state) }

// SourceRows has a row for each pull, or for each source that has none; one for
// each yard where there are many, and one for all the smaller yards where there are
// more yet.
func SourceRows(f locale.Voice, sources []season.Source, most int) []Source {
	var out []Source
	rows := 0
	for _, s := range sources {
		rows += max(1, len(s.Pulls))
	}
	if len(sources) > most {
		rest := season.Source{Name: f.Say("%s more yards", len(sources)-most+1)}
		for _, s := range sources[most-1:] {
			rest.Grams, rest.Share, rest.Pulls = rest.Grams+s.Grams, rest.Share+s.Share, append(rest.Pulls, s.Pulls...)
		}
		sources = append(slices.Clone(sources[:most-1]), rest)
	}
	for _, s := range sources {
		switch {
		case len(s.Pulls) == 0:
			out = append(out, Source{s.Name, locale.Missing, f.Grams(s.Grams), f.Share(s.Share)})
		case rows > most:
			first, last := s.Pulls[0].PulledAt, s.Pulls[0].PulledAt
			for _, p := range s.Pulls {
				first, last = earlier(first, p.PulledAt), later(last, p.PulledAt)
			}
			out = append(out, Source{s.Name, Span(f, first, last), f.Grams(s.Grams), f.Share(s.Share)})
		default:
			for _, p := range s.Pulls {
				out = append(out, Source{s.Name, f.Day(p.PulledAt), f.Grams(p.Grams), f.Share(p.Share)})
			}
		}
	}
	return out
}

// readingRows has a row for each figure read, or from the lowest to the highest
// of each quantity and instrument where there are many.
func readingRows(f locale.Voice, readings []reading, most int) []readingRow {
	var out []readingRow
	if len(readings) <= most {
		for _, x := range readings {
			out = append(out, readingRow{f.Day(x.At), x.said[0].In(f), x.Instrument, x.said[1].In(f), x.said[2].In(f)})
		}
		return out
	}
	together(readings, func(r reading) [2]string { return [2]string{r.What, r.Instrument} }, func(of []reading) {
		low, high := of[0], of[0]
		for _, r := range of {
			if r.value < low.value {
				low = r
			}
			if r.value > high.value {
				high = r
			}
		}
		row := readingRow{Span(f, of[0].At, of[len(of)-1].At), of[0].said[0].In(f), of[0].Instrument, of[0].said[1].In(f), of[0].said[2].In(f)}
		if len(of) > 1 {
			row.On = f.Say("%s readings", len(of))
			row.Figure = low.said[2].In(f)
			if low.Figure != high.Figure {
				row.Figure = f.Say("range|%s to %s", low.said[2], high.said[2])
			}
		}
		out = append(out, row)
	})
	return out
}

// together calls f with those of a list that have the same key, in the order in
// which the keys first come.
func together[T any, K comparable](all []T, key func(T) K, f func([]T)) {
	of := map[K][]T{}
	var order []K
	for _, x := range all {
		k := key(x)
		if _, has := of[k]; !has {
			order = append(order, k)
		}
		of[k] = append(of[k], x)
	}
	for _, k := range order {
		f(of[k])
	}
}

var trailingNumber = regexp.MustCompile(`^(.*?)(\d{1,18})$`)

// numberRanges lists containers' numbers, those that follow one another as "D-1
// to D-9".
func numberRanges(f locale.Voice, numbers []string) string {
	type numbered struct {
		text, before string
		n            int
	}
	all := make([]numbered, len(numbers))
	for i, text := range numbers {
		all[i] = numbered{text, text, -1}
		if m := trailingNumber.FindStringSubmatch(text); m != nil {
			all[i].before = m[1]
			all[i].n, _ = strconv.Atoi(m[2])
		}
	}
	slices.SortStableFunc(all, func(x, y numbered) int {
		if c := strings.Compare(x.before, y.before); c != 0 {
			return c
		}
		return x.n - y.n
	})
	var out []string
	for i := 0; i < len(all); {
		end := i + 1
		for end < len(all) && all[end].before == all[i].before && all[end].n == all[end-1].n+1 && all[i].n >= 0 {
			end++
		}
		if end-i > 2 {
			out = append(out, f.Say("range|%s to %s", all[i].text, all[end-1].text))
		} else {
			for _, x := range all[i:end] {
				out = append(out, x.text)
			}
		}
		i = end
	}
	return strings.Join(out, ", ")
}

func earlier(a, b time.Time) time.Time {
	if b.Before(a) {
		return b
	}
	return a
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}
