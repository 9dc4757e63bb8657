package pages

import (
	"encoding/base64"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"unicode/utf8"

	"github.com/labstack/echo/v4"
	"rsc.io/qr"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// labelsPath is where the labels for a lot's containers are.
func labelsPath(lot ledger.ID) string { return lotPath(lot) + "/labels" }

// labelsView is labels to be cut out and stuck on drums.
type labelsView struct {
	Page, Code string
	// Each has one label on a page instead of several.
	Each        bool
	First, Last []choice
	Sheets      [][]label
	Count       string
	// Caution is what has to be known of where the codes lead.
	Caution string
}

// label says what is in a container; its code leads to the container's place on
// the page of its lot, and has its number for whoever reads the code where it is moved.
type label struct {
	Outfit, Code, Product, Number, Kind, Net, Mass, Filled, Caution string
	QR                                                              template.URL
	// Long and LongCode do not fit in large letters.
	Long, LongCode bool
}

// longNumber and longCode are how many letters of a container's number and of
// a lot's code fit a label in large ones.
const (
	longNumber = 9
	longCode   = 16
)

// labelsOnSheet fit a sheet of A4 and of Letter, two beside one another.
const labelsOnSheet = 8

func (p *pages) labelsPage(ctx echo.Context) error {
	id, err := lotParam(ctx)
	if err != nil {
		return err
	}
	// It is not kept: the address on a label may be the one by which this request came.
	var f locale.Voice
	var outfit db.Outfit
	var r *season.LotReport
	err = p.look(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f, outfit = request.VoiceFor(ctx, o, b), o
		r, err = season.Lot(b, id)
		return err
	})
	if err != nil {
		return err
	}
	here := slices.DeleteFunc(r.Containers, func(c season.Container) bool { return c.State != season.Held })
	v := &labelsView{Page: lotPath(r.LotID), Code: r.Code, Each: ctx.QueryParam("each") != ""}
	from, to := v.choose(here, ctx.QueryParam("first"), ctx.QueryParam("last"))
	if err := v.fill(f, outfit, r, here[from:to], p.AddressFor(ctx)); err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "labels.html", v)
}

// choose offers the containers to begin and to end with, and says which are from
// the first asked for to the last.
func (v *labelsView) choose(here []season.Container, first, last string) (from, to int) {
	to = len(here)
	for i, c := range here {
		if c.Number == first {
			from = i
		}
		if c.Number == last {
			to = i + 1
		}
	}
	to = max(from, to)
	for i, c := range here {
		v.First = append(v.First, choice{c.Number, c.Number, i == from})
		v.Last = append(v.Last, choice{c.Number, c.Number, i == to-1})
	}
	return from, to
}

func (v *labelsView) fill(f locale.Voice, o db.Outfit, r *season.LotReport, containers []season.Container, leading request.Address) error {
	on := labelsOnSheet
	if v.Each {
		on = 1
	}
	v.Count, v.Caution = f.Count(len(containers)), leading.Caution.In(f)
	for some := range slices.Chunk(containers, on) {
		var sheet []label
		for _, c := range some {
			code, err := qr.Encode(leading.Base+lotPath(r.LotID)+"?c="+url.QueryEscape(c.Number)+"#"+containerAnchor(c.ID), qr.M)
			if err != nil {
				return fmt.Errorf("QR code of container %s: %w", c.Number, err)
			}
			sheet = append(sheet, label{
				Outfit: o.Name, Code: r.Code, Product: r.Product, Number: c.Number, Kind: c.Kind, Net: f.Grams(c.NetG), Mass: f.Mass, Filled: f.Day(c.FilledAt),
				Caution: f.Say("Not for infants under 12 months."),
				Long:    utf8.RuneCountInString(c.Number) > longNumber, LongCode: utf8.RuneCountInString(r.Code) > longCode,
				QR: template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(code.PNG())),
			})
		}
		v.Sheets = append(v.Sheets, sheet)
	}
	return nil
}
