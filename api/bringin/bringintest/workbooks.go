package bringintest

import (
	"archive/zip"
	"bufio"
	"compress/flate"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"pullbook/domain/importing"
)

// The parts of a workbook, and what its sheet begins and ends with.
const (
	bookPart    = "xl/workbook.xml"
	targetsPart = "xl/_rels/workbook.xml.rels"
	sheetPart   = "xl/worksheets/sheet1.xml"
	sheetRels   = "xl/worksheets/_rels/sheet1.xml.rels"
	textsPart   = "xl/sharedStrings.xml"
	stylesPart  = "xl/styles.xml"
	remarksPart = "xl/comments1.xml"

	head  = `<?xml version="1.0" encoding="UTF-8"?>`
	begin = head + `<worksheet><sheetData>`
	end   = `</sheetData></worksheet>`
)

// written is a part of one text.
func written(s string) func(io.Writer) {
	return func(out io.Writer) { _, _ = io.WriteString(out, s) }
}

// often is a part that has one text many times between two others.
func often(before, s string, times int, after string) func(io.Writer) {
	return func(out io.Writer) {
		_, _ = io.WriteString(out, before)
		repeated(out, s, times*len(s))
		_, _ = io.WriteString(out, after)
	}
}

// numbered is a part that has one text with a number in it many times.
func numbered(before, format string, times int, after string) func(io.Writer) {
	return func(out io.Writer) {
		_, _ = io.WriteString(out, before)
		for i := range times {
			fmt.Fprintf(out, format, i)
		}
		_, _ = io.WriteString(out, after)
	}
}

// book says that a workbook has so many sheets, all of them in one part.
func book(sheets int) func(io.Writer) {
	return numbered(head+`<workbook xmlns:r="r"><sheets>`, `<sheet name="s%d" r:id="rId1"/>`, sheets, `</sheets></workbook>`)
}

// packed is a workbook of such parts, with what a workbook of one sheet has beside them.
func packed(parts map[string]func(io.Writer)) func(io.Writer) error {
	return func(to io.Writer) error {
		all := map[string]func(io.Writer){
			bookPart:    book(1),
			targetsPart: written(head + `<Relationships><Relationship Id="rId1" Type="x/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`),
		}
		maps.Copy(all, parts)
		out := zip.NewWriter(to)
		out.RegisterCompressor(zip.Deflate, func(to io.Writer) (io.WriteCloser, error) { return flate.NewWriter(to, flate.BestSpeed) })
		buffered := bufio.NewWriterSize(nil, megabyte)
		for _, name := range slices.Sorted(maps.Keys(all)) {
			part, err := out.Create(name)
			if err != nil {
				return err
			}
			buffered.Reset(part)
			all[name](buffered)
			if err := buffered.Flush(); err != nil {
				return err
			}
		}
		return out.Close()
	}
}

// workbooks are those that were made to fill the memory.
func workbooks() []Sheet {
	one := func(name string, sheet func(io.Writer)) Sheet {
		return Sheet{Name: name, Kind: importing.Pulls, Write: packed(map[string]func(io.Writer){sheetPart: sheet})}
	}
	several := func(name string, parts map[string]func(io.Writer)) Sheet {
		if parts[sheetPart] == nil {
			parts[sheetPart] = often(begin, `<row><c t="s"><v>0</v></c></row>`, 1000, end)
		}
		return Sheet{Name: name, Kind: importing.Pulls, Write: packed(parts)}
	}
	quick := func(s Sheet) Sheet { s.Quick = true; return s }
	long := strings.Repeat("long text ", 3000)
	const few = `<row><c t="inlineStr"><is><t>Yard</t></is></c></row>`
	return []Sheet{
		quick(several("ten million empty texts that cells share", map[string]func(io.Writer){textsPart: often(head+"<sst>", "<si/>", 10_000_000, "</sst>")})),
		several("as many empty texts that cells share as may be", map[string]func(io.Writer){textsPart: often(head+"<sst>", "<si/>", 2_000_000, "</sst>")}),
		quick(several("as many short texts that cells share as may be", map[string]func(io.Writer){textsPart: numbered(head+"<sst>", "<si><t>t%08d</t></si>", 2_000_000, "</sst>")})),
		several("long texts that cells share", map[string]func(io.Writer){textsPart: often(head+"<sst>", "<si><t>"+long+"</t></si>", 1670, "</sst>")}),
		several("more long texts that cells share", map[string]func(io.Writer){textsPart: often(head+"<sst>", "<si><t>"+long+"</t></si>", 16_000, "</sst>")}),
		several("texts of many runs", map[string]func(io.Writer){textsPart: often(head+"<sst>", "<si>"+strings.Repeat("<r><t>x</t></r>", 1000)+"</si>", 12_000, "</sst>")}),
		one("as many cells as may be", often(begin, "<row>"+strings.Repeat("<c><v>1</v></c>", 1000)+"</row>", 20_000, end)),
		several("many cells that share one long text", map[string]func(io.Writer){
			sheetPart: often(begin, "<row>"+strings.Repeat(`<c t="s"><v>0</v></c>`, 30)+"</row>", 10_000, end),
			textsPart: written(head + "<sst><si><t>" + long + "</t></si></sst>")}),
		quick(several("long texts in the first rows", map[string]func(io.Writer){
			sheetPart: often(begin, "<row>"+strings.Repeat(`<c t="s"><v>0</v></c>`, 80)+"</row>", 220, end),
			textsPart: written(head + "<sst><si><t>" + long + "</t></si></sst>")})),
		one("as many texts of cells' own as may be", often(begin, "<row>"+strings.Repeat(`<c t="inlineStr"><is><t>x</t></is></c>`, 1000)+"</row>", 13_000, end)),
		quick(one("long texts of cells' own", often(begin, `<row><c t="inlineStr"><is><t>`+long+`</t></is></c></row>`, 16_000, end))),
		one("formulas that were never worked out", often(begin, `<row><c><f>`+long+`</f></c></row>`, 16_000, end)),
		one("rows as long as may be", often(begin, "<row>"+strings.Repeat(`<c t="inlineStr"><is><t>`+long+`</t></is></c>`, 34)+"</row>", 500, end)),
		one("rows that are too long", often(begin, "<row>"+strings.Repeat(`<c t="inlineStr"><is><t>`+long+`</t></is></c>`, 1000)+"</row>", 6, end)),
		one("merged cells", often(begin+few+"</sheetData><mergeCells>", `<mergeCell ref="A1:A1048576"/>`, 100_000, "</mergeCells></worksheet>")),
		several("merged cells on many sheets", map[string]func(io.Writer){bookPart: book(60),
			sheetPart: often(begin+few+"</sheetData><mergeCells>", `<mergeCell ref="A1:A1048576"/>`, 99_000, "</mergeCells></worksheet>")}),
		several("comments", map[string]func(io.Writer){
			sheetPart: often(begin, few, 30_000, end), sheetRels: written(head + `<Relationships><Relationship Id="r1" Type="x/comments" Target="../comments1.xml"/></Relationships>`),
			remarksPart: numbered(head+"<comments><commentList>", `<comment ref="A%d"><text><t>`+strings.Repeat("said ", 80)+`</t></text></comment>`, 20_000, "</commentList></comments>")}),
		several("comments on many sheets", map[string]func(io.Writer){
			bookPart: book(60), sheetPart: often(begin, few, 10, end), sheetRels: written(head + `<Relationships><Relationship Id="r1" Type="x/comments" Target="../comments1.xml"/></Relationships>`),
			remarksPart: numbered(head+"<comments><commentList>", `<comment ref="A%d"><text><t>`+strings.Repeat("said ", 50)+`</t></text></comment>`, 10_000, "</commentList></comments>")}),
		several("as many styles as may be", map[string]func(io.Writer){
			stylesPart: func(out io.Writer) {
				numbered(head+"<styleSheet><numFmts>", `<numFmt numFmtId="%d" formatCode="0.0&quot; kg&quot;"/>`, 65_000, "</numFmts>")(out)
				often("<fonts>", "<font/>", 65_000, "</fonts><cellXfs>")(out)
				numbered("", `<xf numFmtId="%d"/>`, 65_000, "</cellXfs></styleSheet>")(out)
			}}),
		quick(several("one long format of many styles", map[string]func(io.Writer){
			stylesPart: often(head+`<styleSheet><numFmts><numFmt numFmtId="200" formatCode="0&quot;`+strings.Repeat(long, 4)+`&quot;"/></numFmts><cellXfs>`, `<xf numFmtId="200"/>`, 3_000, "</cellXfs></styleSheet>")})),
		several("long formats", map[string]func(io.Writer){
			stylesPart: numbered(head+"<styleSheet><numFmts>", `<numFmt numFmtId="%d" formatCode="0&quot;`+long+`&quot;"/>`, 6_000, "</numFmts></styleSheet>")}),
		one("hidden rows", often(begin, `<row hidden="1"><c><v>1</v></c></row>`, 1_048_576, end)),
		several("hidden rows on many sheets", map[string]func(io.Writer){bookPart: book(9), sheetPart: often(begin, `<row hidden="1"><c><v>1</v></c></row>`, 550_000, end)}),
		one("empty hidden rows", often(begin, `<row hidden="1"/>`, 1_048_576, end)),
		one("deep elements", often(begin, `<row>`, 1_000_000, end)),
		one("elements of many attributes", often(begin, `<row `+strings.Repeat(`a="" `, 40_000)+"/>", 900, end)),
		quick(one("gigabytes of blanks", often(begin, strings.Repeat(" ", 1000), 2_000_000, end))),
		one("gigabytes of elements without a meaning", often(begin, "<x/>", 500_000_000, end)),
		several("merged cells that show long texts", map[string]func(io.Writer){sheetPart: func(out io.Writer) {
			often(begin, `<row><c t="inlineStr"><is><t>`+long+`</t></is></c></row>`, 10_000, "</sheetData><mergeCells>")(out)
			for i := range 10_000 {
				fmt.Fprintf(out, `<mergeCell ref="A%d:A%d"/>`, i+1, i+2)
			}
			_, _ = io.WriteString(out, "</mergeCells></worksheet>")
		}}),
		several("millions of sheets", map[string]func(io.Writer){bookPart: book(3_000_000)}),
		several("millions of hidden sheets", map[string]func(io.Writer){bookPart: often(head+`<workbook xmlns:r="r"><sheets>`, `<sheet name="s" state="hidden" r:id="rId1"/>`, 2_000_000, `</sheets></workbook>`)}),
		several("millions of relationships", map[string]func(io.Writer){targetsPart: numbered(head+"<Relationships>", `<Relationship Id="rId%d" Target="a"/>`, 4_000_000, "</Relationships>")}),
		{Name: "10,000 parts with long names", Kind: importing.Pulls, Write: packed(manyParts(9_990, 2_500))},
		{Name: "many parts", Kind: importing.Pulls, Write: packed(manyParts(400_000, 0))},
	}
}

// manyParts are empty parts with names so long.
func manyParts(n, long int) map[string]func(io.Writer) {
	out := map[string]func(io.Writer){sheetPart: often(begin, "<row><c><v>1</v></c></row>", 1000, end)}
	for i := range n {
		out[fmt.Sprintf("xl/%0*d", long, i)] = func(io.Writer) {}
	}
	return out
}
