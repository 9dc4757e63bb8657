package ledger

import (
	"bytes"
	"encoding"
	"encoding/json"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	jsonv2 "github.com/go-json-experiment/json"
)

// plainReader reads content that is written just as Content writes it: no space, each field
// once and in the order of its type, nothing escaped. Nearly all content of a book is so, and
// is read in a fraction of the time that a reader of any JSON takes. Whatever is otherwise in
// the least it leaves to that one.
type plainReader struct {
	text []byte
	at   int
	// words are short texts that came lately: a book says few of them again and again.
	words [512]string
}

var plainReaders = sync.Pool{New: func() any { return new(plainReader) }}

// readPlain reads content of a kind into a new body. It reports false where the content is
// not plain.
func readPlain(kind Kind, content []byte) (body Body, asEntered map[string]string, via Via, plain bool) {
	form, known := plainForms[kind]
	if !known {
		return nil, nil, "", false
	}
	body = form.body()
	r := plainReaders.Get().(*plainReader)
	defer plainReaders.Put(r)
	r.text, r.at = content, 0
	defer func() { r.text = nil }()
	if !r.take(`{"body":`) || !r.read(reflect.ValueOf(body).Elem(), form.plainForm) {
		return nil, nil, "", false
	}
	if r.take(`,"as_entered":`) {
		if asEntered, plain = r.texts(); !plain {
			return nil, nil, "", false
		}
	}
	if r.take(`,"via":`) {
		word, is := r.string()
		if !is {
			return nil, nil, "", false
		}
		via = Via(word)
	}
	return body, asEntered, via, r.take(`}`) && r.at == len(content)
}

// plainForms are the forms of all bodies.
var plainForms = func() map[Kind]bodyForm {
	out := make(map[Kind]bodyForm, len(kinds))
	for _, k := range kinds {
		form := plainFormOf(reflect.TypeOf(k.body()).Elem(), nil)
		if form.sort == plainStruct {
			out[k.kind] = bodyForm{form, k.body}
		}
	}
	return out
}()

// bodyForm is the form of a body, and what makes an empty one.
type bodyForm struct {
	*plainForm
	body func() Body
}

type plainSort int

const (
	// otherForm is left to the reader of any JSON.
	otherForm plainSort = iota
	plainString
	plainInt
	plainFloat
	plainBool
	plainID
	plainTime
	plainPointer
	plainSlice
	plainStruct
)

// plainForm is how a type is written.
type plainForm struct {
	sort   plainSort
	typ    reflect.Type
	elem   *plainForm
	fields []plainField
}

// plainField is a field: its name with the quotes and the colon, and its place in the type.
type plainField struct {
	name  string
	index []int
	*plainForm
}

var (
	idType   = reflect.TypeFor[ID]()
	timeType = reflect.TypeFor[time.Time]()
	// ownReaders are types that read JSON by a method of their own.
	ownReaders = []reflect.Type{
		reflect.TypeFor[json.Unmarshaler](), reflect.TypeFor[encoding.TextUnmarshaler](),
		reflect.TypeFor[jsonv2.UnmarshalerFrom](),
	}
)

// plainFormOf is the form of a type; within are the types that it is a part of.
func plainFormOf(t reflect.Type, within []reflect.Type) *plainForm {
	form := &plainForm{typ: t}
	switch t {
	case idType:
		form.sort = plainID
		return form
	case timeType:
		form.sort = plainTime
		return form
	}
	for _, own := range ownReaders {
		if t.Implements(own) || reflect.PointerTo(t).Implements(own) {
			return form
		}
	}
	for _, outer := range within {
		if outer == t {
			return form
		}
	}
	within = append(within, t)
	switch t.Kind() {
	case reflect.String:
		form.sort = plainString
	case reflect.Int, reflect.Int64:
		form.sort = plainInt
	case reflect.Float64:
		form.sort = plainFloat
	case reflect.Bool:
		form.sort = plainBool
	case reflect.Pointer, reflect.Slice:
		form.elem = plainFormOf(t.Elem(), within)
		if form.elem.sort != otherForm && t.Elem().Kind() != reflect.Uint8 {
			form.sort = plainSlice
			if t.Kind() == reflect.Pointer {
				form.sort = plainPointer
			}
		}
	case reflect.Struct:
		form.sort = plainStruct
		form.addFields(t, nil, within)
	}
	return form
}

// addFields adds the fields of a struct, those of structs within it that have no name too.
func (form *plainForm) addFields(t reflect.Type, index []int, within []reflect.Type) {
	for i := range t.NumField() {
		f := t.Field(i)
		tag, named := f.Tag.Lookup("json")
		name, options, _ := strings.Cut(tag, ",")
		place := append(append([]int(nil), index...), i)
		switch {
		case f.Anonymous && !named && f.Type.Kind() == reflect.Struct:
			form.addFields(f.Type, place, within)
		case !f.IsExported() || name == "-":
		case name == "" || f.Anonymous || strings.Contains(options, "string"), strings.Contains(options, "format"):
			form.sort = otherForm
		default:
			form.fields = append(form.fields, plainField{`"` + name + `":`, place, plainFormOf(f.Type, within)})
		}
	}
}

// take goes on behind a text that stands next.
func (r *plainReader) take(text string) bool {
	if end := r.at + len(text); end <= len(r.text) && string(r.text[r.at:end]) == text {
		r.at = end
		return true
	}
	return false
}

func (r *plainReader) takeByte(c byte) bool {
	if r.at < len(r.text) && r.text[r.at] == c {
		r.at++
		return true
	}
	return false
}

// read reads a value of a form.
func (r *plainReader) read(v reflect.Value, form *plainForm) bool {
	switch form.sort {
	case plainString:
		s, is := r.string()
		v.SetString(s)
		return is
	case plainInt:
		n, is := r.int()
		v.SetInt(n)
		return is
	case plainFloat:
		x, is := r.float()
		v.SetFloat(x)
		return is
	case plainBool:
		yes := r.take("true")
		v.SetBool(yes)
		return yes || r.take("false")
	case plainID:
		return r.id(v.Addr().Interface().(*ID))
	case plainTime:
		return r.time(v.Addr().Interface().(*time.Time))
	case plainPointer:
		v.Set(reflect.New(form.elem.typ))
		return r.read(v.Elem(), form.elem)
	case plainSlice:
		return r.slice(v, form.elem)
	case plainStruct:
		return r.object(v, form)
	}
	return false
}

// object reads an object whose fields stand in the order of the type. Some may be left out.
func (r *plainReader) object(v reflect.Value, form *plainForm) bool {
	if !r.takeByte('{') {
		return false
	}
	if r.takeByte('}') {
		return true
	}
	for i := range form.fields {
		f := &form.fields[i]
		if !r.take(f.name) {
			continue
		}
		at := v.Field(f.index[0])
		for _, j := range f.index[1:] {
			at = at.Field(j)
		}
		if !r.read(at, f.plainForm) {
			return false
		}
		if r.takeByte('}') {
			return true
		}
		if !r.takeByte(',') {
			return false
		}
	}
	return false
}

// slice reads a list that has something in it.
func (r *plainReader) slice(v reflect.Value, elem *plainForm) bool {
	if !r.takeByte('[') {
		return false
	}
	for n := 0; ; n++ {
		v.Grow(1)
		v.SetLen(n + 1)
		if !r.read(v.Index(n), elem) {
			return false
		}
		if r.takeByte(']') {
			return true
		}
		if !r.takeByte(',') {
			return false
		}
	}
}

// texts reads an object of texts, each with a name of its own.
func (r *plainReader) texts() (map[string]string, bool) {
	if !r.takeByte('{') {
		return nil, false
	}
	out := map[string]string{}
	for {
		name, is := r.string()
		if _, had := out[name]; !is || had || !r.takeByte(':') {
			return nil, false
		}
		if out[name], is = r.string(); !is {
			return nil, false
		}
		if r.takeByte('}') {
			return out, true
		}
		if !r.takeByte(',') {
			return nil, false
		}
	}
}

func (r *plainReader) string() (string, bool) {
	raw, is := r.quoted()
	if !is {
		return "", false
	}
	return r.word(raw), true
}

// quoted is a text in which nothing is escaped.
func (r *plainReader) quoted() ([]byte, bool) {
	if !r.takeByte('"') {
		return nil, false
	}
	beyond := byte(0)
	for i, c := range r.text[r.at:] {
		switch {
		case c == '"':
			raw := r.text[r.at : r.at+i]
			r.at += i + 1
			return raw, beyond < utf8.RuneSelf || utf8.Valid(raw)
		case c < ' ' || c == '\\':
			return nil, false
		}
		beyond |= c
	}
	return nil, false
}

// mostOfAWord is up to how long a text is looked for among those that came lately.
const mostOfAWord = 24

// word is a text, the same in memory where it came lately.
func (r *plainReader) word(raw []byte) string {
	n := len(raw)
	if n == 0 || n > mostOfAWord {
		return string(raw)
	}
	place := &r.words[(n*131+int(raw[0])*31+int(raw[n/2])*7+int(raw[n-1]))%len(r.words)]
	if *place != string(raw) {
		*place = string(raw)
	}
	return *place
}

// ends reports whether a number ends here.
func (r *plainReader) ends() bool {
	if r.at == len(r.text) {
		return false
	}
	c := r.text[r.at]
	return c == ',' || c == '}' || c == ']'
}

// digits goes on behind digits, and counts them.
func (r *plainReader) digits() (n int) {
	for r.at < len(r.text) && '0' <= r.text[r.at] && r.text[r.at] <= '9' {
		r.at++
		n++
	}
	return n
}

// whole goes on behind a whole number as JSON writes it, and reports whether one stands here.
func (r *plainReader) whole() bool {
	r.takeByte('-')
	from := r.at
	n := r.digits()
	return n == 1 || n > 1 && r.text[from] != '0'
}

// mostDigits is how many digits surely fit into an int64.
const mostDigits = 18

func (r *plainReader) int() (n int64, is bool) {
	from := r.at
	if !r.whole() || !r.ends() || r.at-from > mostDigits {
		return 0, false
	}
	digits := r.text[from:r.at]
	negative := digits[0] == '-'
	if negative {
		digits = digits[1:]
	}
	for _, c := range digits {
		n = 10*n + int64(c-'0')
	}
	if negative {
		n = -n
	}
	return n, true
}

func (r *plainReader) float() (float64, bool) {
	from := r.at
	if !r.whole() || r.takeByte('.') && r.digits() == 0 {
		return 0, false
	}
	if r.takeByte('e') || r.takeByte('E') {
		_ = r.takeByte('+') || r.takeByte('-')
		if r.digits() == 0 {
			return 0, false
		}
	}
	x, err := strconv.ParseFloat(string(r.text[from:r.at]), 64)
	return x, err == nil && r.ends()
}

// idForm is an id as it is written, with its quotes.
const idForm = `"10000000-0000-4000-8000-000000000002"`

// id reads an id in small letters, as they are written.
func (r *plainReader) id(into *ID) bool {
	if r.at+len(idForm) > len(r.text) {
		return false
	}
	raw := r.text[r.at : r.at+len(idForm)]
	r.at += len(idForm)
	n := 0
	for i := 0; i < len(idForm); i++ {
		if c := idForm[i]; c == '"' || c == '-' {
			if raw[i] != c {
				return false
			}
			continue
		}
		high, low := hexDigits[raw[i]], hexDigits[raw[i+1]]
		if high|low > 15 {
			return false
		}
		into[n] = high<<4 | low
		n++
		i++
	}
	return true
}

// hexDigits has the value of each digit in small letters, and 16 for what is none.
var hexDigits = func() (values [256]byte) {
	for i := range values {
		values[i] = 16
	}
	for i, c := range []byte("0123456789abcdef") {
		values[c] = byte(i)
	}
	return values
}()

// time reads a time in UTC, as they are written.
func (r *plainReader) time(into *time.Time) bool {
	raw, is := r.quoted()
	return is && bytes.HasSuffix(raw, []byte("Z")) && !bytes.ContainsRune(raw, ',') && into.UnmarshalText(raw) == nil
}
