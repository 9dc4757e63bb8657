package ledger_test

import (
	"reflect"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// takeBack completes a withdrawal as the service does, and appends it.
func takeBack(t *testing.T, b *ledger.Book, o *ledgertest.Outfit, replaces ledger.ID, takes string) (*ledger.Entry, error) {
	t.Helper()
	e := &ledger.Entry{Number: b.Len() + 1, ID: o.Next(), Kind: ledger.KindWithdrawal, OccurredAt: ledgertest.At(90), RecordedAt: ledgertest.At(90),
		RecordedBy: "Ada", Replaces: replaces, Reason: "mistaken", Body: &ledger.Withdrawal{Takes: takes}}
	if err := b.Complete(e); err != nil {
		return nil, err
	}
	if err := b.Check(e, ledgertest.At(91)); err != nil {
		return nil, err
	}
	if _, err := b.Append(e); err != nil {
		t.Fatal(err)
	}
	o.Entries = append(o.Entries, e)
	return e, nil
}

func TestWithdrawingACorrectionBringsBackWhatItCorrected(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, run, out := harvested(o)
	before := open(t, o).State().Totals()
	correction := o.Correct(out, 13, ledgertest.OutBody(run, o.Settling, 800_000))
	b := open(t, o)
	holds(t, b.State(), o.Settling, 800_000)
	back, err := takeBack(t, b, o, correction, ledger.TakesCorrection)
	if err != nil {
		t.Fatal(err)
	}
	holds(t, b.State(), o.Settling, 500_000)
	if was, _ := b.Entry(out); back.Kind != ledger.KindMovement || !reflect.DeepEqual(back.Body, was.Body) || !back.OccurredAt.Equal(was.OccurredAt) {
		t.Errorf("what stands again is %+v at %s", back.Body, back.OccurredAt)
	}
	if got := open(t, o).State().Totals(); got != before {
		t.Errorf("the book comes to %+v, and came to %+v", got, before)
	}
	if _, err := takeBack(t, b, o, back.ID, ledger.TakesCorrection); err != nil {
		t.Fatal(err)
	}
	holds(t, b.State(), o.Settling, 800_000) // the correction again
}

func TestWithdrawingTheEntryTakesAllOfItOut(t *testing.T) {
	t.Parallel()
	for _, takes := range []string{"", ledger.TakesEntry} {
		o := ledgertest.NewOutfit()
		_, run, out := harvested(o)
		correction := o.Correct(out, 13, ledgertest.OutBody(run, o.Settling, 800_000))
		b := open(t, o)
		gone, err := takeBack(t, b, o, correction, takes)
		if err != nil {
			t.Fatal(err)
		}
		if b.InForce(out) != nil || b.State().Totals().Harvested != 0 || *gone.Body.(*ledger.Withdrawal) != (ledger.Withdrawal{}) {
			t.Errorf("with takes %q it leaves %+v", takes, b.InForce(out))
		}
		if _, err := takeBack(t, b, o, gone.ID, ledger.TakesCorrection); err != nil {
			t.Fatal(err)
		}
		holds(t, b.State(), o.Settling, 800_000) // a withdrawn withdrawal brings it back
	}
}

func TestWhatCorrectsNothingIsNoCorrectionToWithdraw(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, _, out := harvested(o)
	if _, err := takeBack(t, open(t, o), o, out, ledger.TakesCorrection); err == nil {
		t.Error("the book takes back a correction that there is not")
	}
}

// Sent again, it is known for the same.
func TestAWithdrawnCorrectionSentAgainIsTheSame(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, run, out := harvested(o)
	correction := o.Correct(out, 13, ledgertest.OutBody(run, o.Settling, 800_000))
	b := open(t, o)
	back, err := takeBack(t, b, o, correction, ledger.TakesCorrection)
	if err != nil {
		t.Fatal(err)
	}
	again := &ledger.Entry{ID: back.ID, Kind: ledger.KindWithdrawal, OccurredAt: ledgertest.At(90), RecordedBy: "Ada", Replaces: correction, Reason: "mistaken",
		Body: &ledger.Withdrawal{Takes: ledger.TakesCorrection}}
	if err := b.Complete(again); err != nil {
		t.Fatal(err)
	}
	if err := b.Check(again, ledgertest.At(92)); err != nil {
		t.Errorf("sent again it is refused: %v", err)
	}
}
