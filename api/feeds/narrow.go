package feeds

import (
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// filters narrow feeds to some of their rows. The contract says which feed takes which.
var filters = []string{"season", "yard", "lot", "from", "to"}

// FiltersOf lists the filters that a feed takes.
func FiltersOf(s *request.Service, feed string) (taken []string) {
	for _, route := range []string{feed + ".:format", feed + ".xlsx", feed + ".ics"} {
		known := s.Contract.ParametersOf(request.FeedsPrefix + route)
		taken = append(taken, slices.DeleteFunc(slices.Clone(filters), func(name string) bool { return !slices.Contains(known, name) })...)
	}
	return taken
}

// KnownFilters refuses a filter that other feeds take and this one does not, and says what
// would do: rows that nothing has narrowed would be taken for those that were asked for.
func KnownFilters(s *request.Service) echo.MiddlewareFunc {
	return func(next echo.HandlerFunc) echo.HandlerFunc {
		return func(ctx echo.Context) error {
			file, is := strings.CutPrefix(ctx.Path(), request.FeedsPrefix)
			feed, form, named := strings.Cut(file, ".")
			if !is || !named {
				return next(ctx)
			}
			var wrong []fault.Field
			taken := FiltersOf(s, feed)
			for _, name := range filters {
				if ctx.QueryParams().Has(name) && !slices.Contains(taken, name) {
					wrong = append(wrong, fault.Field{Pointer: "query:" + name, Sent: request.Sent(ctx.QueryParam(name)), Message: doesNotTake(s, feed, name, taken)})
				}
			}
			if form == ":format" && ctx.Param("format") == "jsonl" && ctx.QueryParam("ids") == "no" {
				wrong = append(wrong, fault.Field{Pointer: "query:ids", Sent: "no", Message: message.F("JSON lines always have their ids, by which programs know the rows. Leave ids out, or ask for CSV or XLSX.")})
			}
			if len(wrong) > 0 {
				return &fault.Error{Code: fault.Invalid, Message: message.F("A part of the address cannot be used."), Fields: wrong}
			}
			return next(ctx)
		}
	}
}

// doesNotTake says that a feed has nothing to narrow by a filter, and what has.
func doesNotTake(s *request.Service, feed, filter string, taken []string) message.Text {
	others := slices.DeleteFunc(Feeds(), func(name string) bool { return !slices.Contains(FiltersOf(s, name), filter) })
	if len(taken) == 0 {
		return message.F("The feed %s has no filters. These can be narrowed by %s: %s.", feed, filter, strings.Join(others, ", "))
	}
	return message.F("The feed %s cannot be narrowed by %s, but by %s. These can be narrowed by %s: %s.",
		feed, filter, strings.Join(taken, ", "), filter, strings.Join(others, ", "))
}
