package feeds

import (
	"errors"
	"fmt"

	"github.com/xuri/excelize/v2"

	"pullbook/domain/message"
)

// legend says what each sheet and column is, in what unit, and what is an estimate.
func (w *seasonBook) legend() error {
	name := w.sheetName(legendSheet)
	if err := w.page(legendSheet, upright); err != nil {
		return err
	}
	stream, err := w.NewStreamWriter(name)
	if err != nil {
		return err
	}
	const left, right = 30, 72
	if err := errors.Join(stream.SetColWidth(1, 1, left), stream.SetColWidth(2, 2, right)); err != nil {
		return err
	}
	row := 0
	line := func(what, says string, style int) {
		row++
		if err == nil {
			err = stream.SetRow(fmt.Sprintf("A%d", row), []any{excelize.Cell{StyleID: style, Value: what}, excelize.Cell{StyleID: w.dress.longText, Value: says}}, excelize.RowOpts{Height: lineHeight * linesOf(says, right)})
		}
	}
	line(w.sheetName(legendSheet), w.Say("Weights are in %s, temperatures in degrees, moisture in percent by mass at 20 °C.", w.Mass), w.dress.textHead)
	for _, says := range legendSays {
		line("", says.In(w.Voice), 0)
	}
	for _, s := range append(w.order, nil) {
		row++
		if s == nil {
			line(w.sheetName(balanceSheet), sheetSays[balanceSheet].In(w.Voice), w.dress.textHead)
			break
		}
		line(w.sheetName(s.sheet), sheetSays[s.sheet].In(w.Voice), w.dress.textHead)
		for i, head := range s.heads {
			if s.widths[i] > 0 {
				line(head, columnSays[columnWord(s.metric[i], s.forms[i])].In(w.Voice), w.dress.text)
			}
		}
	}
	return errors.Join(err, stream.Flush())
}

// legendSays is what somebody has to know of all sheets.
var legendSays = []message.Text{
	message.F("Edit a gross or a tare of the pulls, or the honey of a run: shares, yards, cover and balance follow. The balance takes what a run gives more to be in the tanks. A run that you write below the others counts as from no known pull. Counts of boxes, lots, drums, sales, moisture, estimates and verdicts stay as the book has them."),
	message.F("Totals stand above the heads and are of the rows that a filter leaves in sight; the figures of other sheets are of all rows."),
	message.F("An estimate is what the book works out where nobody measured: what boxes usually hold, what a tank should be like, how likely a drum is to ferment."),
	message.F("A screening is not a laboratory result. An accredited laboratory and the authority of your market decide."),
}

// sheetSays is what a sheet has.
var sheetSays = map[string]message.Text{
	yardsSheet:    message.F("What each yard gave, and how that was the season before."),
	pullsSheet:    message.F("The boxes that were taken off, as the crew weighed them."),
	runsSheet:     message.F("What came out of the extractor, run by run."),
	sharesSheet:   message.F("How the honey of each run was shared among the pulls whose boxes went in."),
	tanksSheet:    message.F("What is in the tanks now."),
	lotsSheet:     message.F("The lots that were opened in the season."),
	drumsSheet:    message.F("The drums and other containers that were filled in the season."),
	salesSheet:    message.F("What left for buyers in the season, and what they found and paid."),
	verdictsSheet: message.F("What each line of a rule set said of a lot."),
	readingsSheet: message.F("What was read of the honey, in the house and in laboratories."),
	balanceSheet:  message.F("Where the season's honey came from and went. A difference of 0 means that all of it is accounted for."),
}

// columnSays is what a column has, by its words without the unit of its weights.
var columnSays = map[string]message.Text{
	"yard":                             message.F("the yard that the honey or the boxes are of"),
	"rank":                             message.F("the place by honey, from 1; yards that gave alike share one"),
	"honey":                            message.F("honey that came out of the extractor"),
	"share pct":                        message.F("the part of the whole in percent"),
	"supers pulled":                    message.F("boxes taken off in the season"),
	"supers extracted":                 message.F("boxes of the yard that went into the season's runs"),
	"hives worked":                     message.F("hives that the boxes came from"),
	"kg per super":                     message.F("honey over boxes extracted"),
	"hives":                            message.F("hives counted last in the season"),
	"kg per hive":                      message.F("honey over hives counted"),
	"moisture pct":                     message.F("moisture at 20 °C, percent by mass, of readings"),
	"shared by":                        message.F("how the honey was told from that of others: weighed, or by boxes times their usual honey, which is an estimate"),
	"last season":                      message.F("what the yard gave in the season before"),
	"change":                           message.F("this season less the season before"),
	"change pct":                       message.F("the change in percent of the season before"),
	"no":                               message.F("the number by which formulas of other sheets find the row; leave it as it is"),
	"pulled at":                        message.F("when the boxes were taken off"),
	"supers":                           message.F("boxes"),
	"supers by kind":                   message.F("boxes by kind"),
	"supers left":                      message.F("boxes of the pull that went into no run yet"),
	"gross":                            message.F("weighed with its boxes or its container"),
	"tare":                             message.F("what the empty boxes or the empty container weigh"),
	"net":                              message.F("honey: gross less tare, or what was filled or left"),
	"usual net":                        message.F("what such boxes usually hold, an estimate"),
	"room":                             message.F("the hot room where the boxes stand"),
	"note":                             message.F("what somebody wrote"),
	"started at":                       message.F("when the run began"),
	"run":                              message.F("the run of the extractor"),
	"loads":                            message.F("fillings of the extractor"),
	"frames":                           message.F("frames of all loads"),
	"frames set aside":                 message.F("frames that were not extracted"),
	"wax":                              message.F("wax of the cappings, drained"),
	"yards":                            message.F("the yards that the honey came from, most first"),
	"usual":                            message.F("what the boxes that went into the run usually hold, an estimate"),
	"pull net":                         message.F("what the whole pull weighed without its boxes; 0 where nobody weighed it"),
	"pull usual":                       message.F("what all boxes of the pull usually hold, an estimate"),
	"of usual pct":                     message.F("what was weighed, in percent of what such boxes usually hold; 0 where nobody weighed"),
	"weight":                           message.F("what the boxes count for in the run: by weight where every pull of the run was weighed, else by their usual honey"),
	"run no":                           message.F("the number of the run in its sheet"),
	"pull no":                          message.F("the number of the pull in its sheet; empty for one of another season"),
	"yard no":                          message.F("the number of the yard in its sheet; 0 where no pull is known"),
	"tank":                             message.F("the tank"),
	"use":                              message.F("what the tank is for"),
	"capacity":                         message.F("honey that it holds when full"),
	"full pct":                         message.F("how full it is, in percent"),
	"expected moisture pct":            message.F("moisture that the book expects, an estimate"),
	"expected hmf mg per kg":           message.F("HMF that the book expects, an estimate"),
	"expected diastase gothe":          message.F("diastase that the book expects, an estimate"),
	"read moisture pct":                message.F("the last reading since the tank was washed"),
	"read at":                          message.F("when that was read"),
	"moved at":                         message.F("when honey last went in or out"),
	"lot":                              message.F("the lot's code"),
	"product":                          message.F("what the lot is sold as"),
	"opened at":                        message.F("when the lot was opened"),
	"first fill at":                    message.F("when its first container was filled"),
	"last fill at":                     message.F("when its last container was filled"),
	"containers":                       message.F("drums and other containers"),
	"held":                             message.F("honey that is still here"),
	"dispatched":                       message.F("honey that left for buyers"),
	"decided":                          message.F("whether the lot may leave"),
	"fermentation risk":                message.F("how likely it is to ferment within a year as of the day on the cover, an estimate"),
	"container":                        message.F("its number"),
	"container kind":                   message.F("what sort of container it is"),
	"filled at":                        message.F("when it was filled"),
	"seal":                             message.F("its seal"),
	"whereabouts":                      message.F("whether it is here, left, or was emptied"),
	"gone at":                          message.F("when it left or was emptied"),
	"buyer":                            message.F("who took it"),
	"dispatched at":                    message.F("when it left"),
	"lots":                             message.F("the lots that left"),
	"settled net":                      message.F("your own net of the drums that the buyer reports"),
	"buyer net":                        message.F("what the buyer weighed of these drums"),
	"paid":                             message.F("what the buyer paid for the honey"),
	"currency":                         message.F("the currency of what was paid"),
	"reference":                        message.F("a number of yours or of the buyer's"),
	"line":                             message.F("numbers the lines of a check"),
	"checked on":                       message.F("the day whose rules counted"),
	"rule set":                         message.F("the standard, grade or buyer's limits"),
	"edition":                          message.F("its edition"),
	"outcome":                          message.F("what the whole rule set says of the lot"),
	"grade":                            message.F("the grade that the lot makes"),
	"parameter":                        message.F("what the line limits"),
	"line grade":                       message.F("the grade that the line is for"),
	"limit":                            message.F("the limit as printed"),
	"value":                            message.F("the figure that was held against the limit"),
	"value less than":                  message.F("whether the figure was reported only as less than that"),
	"unit":                             message.F("the unit of limit and value"),
	"line outcome":                     message.F("what the line says"),
	"clause":                           message.F("where that stands in the rule set"),
	"outdated":                         message.F("why the check no longer speaks of the lot"),
	"on kind":                          message.F("what was read: pull, run, tank, lot or container"),
	"on name":                          message.F("which one it was"),
	"point":                            message.F("where in it the sample was drawn"),
	"instrument":                       message.F("what it was read with"),
	"laboratory":                       message.F("the laboratory that found the figure"),
	"certificate number":               message.F("the number of its certificate"),
	"analysed on":                      message.F("when the laboratory looked at it"),
	"hmf mg per kg":                    message.F("HMF"),
	"diastase gothe":                   message.F("diastase number, Gothe"),
	"colour mm pfund":                  message.F("colour on the Pfund scale"),
	"conductivity ms per cm":           message.F("electrical conductivity"),
	"free acidity meq per kg":          message.F("free acidity"),
	"fructose plus glucose g per 100g": message.F("fructose and glucose together"),
	"sucrose g per 100g":               message.F("sucrose"),
	"yeast per g":                      message.F("yeasts"),
	"water activity":                   message.F("water activity"),
	"less than":                        message.F("of what the laboratory found less than the figure, and not the figure"),
	"other":                            message.F("figures and answers that have no column"),
	"occurred at":                      message.F("when it was read"),
}
