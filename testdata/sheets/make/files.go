package main

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"log"
	"strings"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/charmap"
)

// text is a text file in UTF-8 whose lines end as on most machines of honey houses.
func text(lines ...string) []byte { return []byte(strings.Join(lines, "\r\n") + "\r\n") }

// windows1252 is a text file as older programs write it in western Europe.
func windows1252(lines ...string) []byte {
	out, err := charmap.Windows1252.NewEncoder().Bytes(text(lines...))
	must(err)
	return out
}

// marked is a text file with the mark of UTF-8 at its beginning.
func marked(lines ...string) []byte { return append([]byte("\xef\xbb\xbf"), text(lines...)...) }

// utf16Text is a text file of two bytes a letter.
func utf16Text(lines ...string) []byte {
	out := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(string(text(lines...)))) {
		out = append(out, byte(u), byte(u>>8))
	}
	return out
}

type row = []any

// book is a workbook of one sheet, with what is done to it afterwards.
func book(name string, rows []row, more ...func(f *excelize.File, sheet string)) []byte {
	f := excelize.NewFile()
	defer f.Close()
	must(f.SetSheetName("Sheet1", name))
	for _, do := range more {
		do(f, "")
	}
	for i, cells := range rows {
		for j, c := range cells {
			put(f, name, j, i, c)
		}
	}
	for _, do := range more {
		do(f, name)
	}
	var out bytes.Buffer
	must(f.Write(&out))
	return out.Bytes()
}

// then is done once the cells are there.
func then(do func(f *excelize.File, sheet string)) func(*excelize.File, string) {
	return func(f *excelize.File, sheet string) {
		if sheet != "" {
			do(f, sheet)
		}
	}
}

func put(f *excelize.File, sheet string, column, line int, c any) {
	cell, err := excelize.CoordinatesToCellName(column+1, line+1)
	must(err)
	switch x := c.(type) {
	case nil:
	case string:
		must(f.SetCellStr(sheet, cell, x))
	default:
		must(f.SetCellValue(sheet, cell, x))
	}
}

// styled gives cells a number format, or strikes them through where it is empty.
func styled(from, to, format string) func(*excelize.File, string) {
	return then(func(f *excelize.File, sheet string) {
		style := &excelize.Style{Font: &excelize.Font{Strike: true}}
		if format != "" {
			style = &excelize.Style{CustomNumFmt: &format}
		}
		id, err := f.NewStyle(style)
		must(err)
		must(f.SetCellStyle(sheet, from, to, id))
	})
}

func merged(from, to string) func(*excelize.File, string) {
	return then(func(f *excelize.File, sheet string) { must(f.MergeCell(sheet, from, to)) })
}

func comment(cell, said string) func(*excelize.File, string) {
	return then(func(f *excelize.File, sheet string) {
		must(f.AddComment(sheet, excelize.Comment{Cell: cell, Author: "Mirren", Text: said}))
	})
}

// parts is a packed file of parts that no library wrote.
func parts(named ...[2]string) []byte {
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, p := range named {
		part, err := w.Create(p[0])
		must(err)
		_, err = io.WriteString(part, p[1])
		must(err)
	}
	must(w.Close())
	return out.Bytes()
}

func day(month time.Month, day int) time.Time {
	return time.Date(2026, month, day, 0, 0, 0, 0, time.UTC)
}

func july(n int) time.Time { return day(time.July, n) }

func must(err error) {
	if err != nil {
		log.Fatal(fmt.Errorf("making a sheet: %w", err))
	}
}
