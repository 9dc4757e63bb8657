package feeds

import "testing"

// A text that a spreadsheet program would make something else of stands behind an apostrophe.
func TestAnApostropheStandsBeforeWhatASpreadsheetWouldTurn(t *testing.T) {
	for _, text := range []string{
		"00123", "007", "1/2", "1-2", "3-4-26", "2026E07", "3E5", "1.5e-3", "1.5", "1,5", "1'234", "1 234", "12:30", "2026-07-03", "3/2026", "2025/12", "26-1", "1 1/2", "26-JUL-01",
		"Mar 3", "MAR1", "3-Sep", "JUL26", "5. Mai", "3 août", "Sept 2026", "2 pm", "2:30PM", "3 p", "50%", "$5", "5 €", "(5)", "12-", ".5", " 007", "1234567890123456",
		"=1+1", "+49", "-", "-5", "@SUM(A1)", "\t=1+1", "＝1+1",
	} {
		if marked := withApostrophe(text); marked != "'"+text {
			t.Errorf("%q goes out as %q", text, marked)
		}
	}
	for _, text := range []string{
		"", "0", "123", "2026", "123456789012345", "D-1", "L26-001", "12A", "7P", "E07", "40 deep", "2024/25", "2025-26", "26-08-22-1", "26-001", "2026-001", "12-345", "TRUE", "false", "Mai", "May Hill 2", "Marsh 3", "Truely",
		"Alder Bend", "'quoted", "1+1", "12 am Bach", "5e", "#3", "No 7", "at most 20 %", "held", "🐝 3", "חצר 7",
	} {
		if marked := withApostrophe(text); marked != text {
			t.Errorf("%q goes out as %q", text, marked)
		}
	}
}
