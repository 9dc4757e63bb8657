// Package deliver sends the evening's page by itself: as mail through the outfit's own mail
// server, and as web hooks by the conventions of Standard Webhooks 1.0.0.
package deliver

import (
	"context"
	"crypto/x509"
	"errors"
	"log/slog"
	"math/rand/v2"
	"net"
	"time"

	"github.com/google/uuid"
	"golang.org/x/sync/errgroup"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
)

// Sender sends what is due.
type Sender struct {
	db    *db.DB
	books *books.Books
	log   *slog.Logger
	reach reach
	// public is the address under which others reach the service; empty where nobody said.
	public string
	// Now is the clock, and Roots who vouches for mail servers and web hooks; nil: whoever
	// this machine trusts.
	Now   func() time.Time
	Roots *x509.CertPool
	// Spread is how much later than it has to a try comes, below what it is given: what failed for many at
	// once is not tried again at once.
	Spread func(below time.Duration) time.Duration
}

// New makes a sender for the service with a configuration.
func New(d *db.DB, b *books.Books, config request.Config) *Sender {
	return &Sender{db: d, books: b, log: config.Log, reach: reach{permitted: config.DeliverTo, own: net.InterfaceAddrs}, public: config.PublicURL, Now: config.Now, Spread: rand.N[time.Duration]}
}

const (
	lookEvery = 15 * time.Second
	// sendWithin bounds a try, and takenFor is how long no other process tries.
	sendWithin = 20 * time.Second
	takenFor   = 2 * time.Minute
	// atOnce bounds the tries that go on side by side.
	atOnce = 8
)

// spreadPart is which part of a wait the next try may come later by.
const spreadPart = 5

// mostAsked bounds what the other side may ask to wait.
const mostAsked = 10 * time.Hour

// again is how long after each try that failed the next one comes at the soonest. Together they take
// less than a day, since the next evening has a page of its own.
var again = []time.Duration{5 * time.Second, 5 * time.Minute, 30 * time.Minute, 2 * time.Hour, 5 * time.Hour, 10 * time.Hour}

// Run sends what is due until ctx ends.
func (s *Sender) Run(ctx context.Context) {
	for {
		if err := s.Once(ctx); err != nil && ctx.Err() == nil {
			s.log.Debug("nobody can say what is to be delivered", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(lookEvery):
		}
	}
}

// Once tries each delivery that is due once.
func (s *Sender) Once(ctx context.Context) error {
	due, err := s.db.DueDeliveries(ctx, s.Now())
	if err != nil {
		return err
	}
	var all errgroup.Group
	all.SetLimit(atOnce)
	for _, d := range due {
		all.Go(func() error {
			ctx, cancel := context.WithTimeout(ctx, sendWithin)
			defer cancel()
			return s.deliver(ctx, d)
		})
	}
	return all.Wait()
}

// deliver tries a delivery and stores how that went.
func (s *Sender) deliver(ctx context.Context, d db.Due) error {
	now := s.Now()
	x, mine, err := s.db.TakeDelivery(ctx, d, now, now.Add(takenFor))
	if err != nil || !mine {
		return err
	}
	loc, err := s.prepare(ctx, d, &x, now)
	if err != nil {
		return err
	}
	err = s.send(ctx, x, now)
	s.noteTry(&x, err, now, loc)
	if err != nil {
		s.log.Warn("the evening's page did not arrive", "outfit", d.Outfit, "delivery", d.ID, "way", x.Way, "why", x.Failed, "tries", x.Tries)
	}
	// What arrived is noted though the service stops meanwhile.
	noting, cancel := context.WithTimeout(context.WithoutCancel(ctx), dialWithin)
	defer cancel()
	return s.db.NoteDelivery(noting, d.Outfit, x)
}

// prepare writes the message, unless one is on its way, and stores it before the first try: so it
// is the same when it is tried again, whatever happens.
func (s *Sender) prepare(ctx context.Context, d db.Due, x *db.Outgoing, now time.Time) (*time.Location, error) {
	o, err := s.db.Outfit(ctx, d.Outfit)
	if err != nil {
		return nil, err
	}
	loc, err := o.Location()
	if err != nil || x.MessageID != "" {
		return loc, err
	}
	var page evening
	err = s.books.Verify(ctx, d.Outfit, func(b *ledger.Book) (err error) {
		page, err = eveningOf(b, now)
		return err
	})
	if err != nil {
		return loc, err
	}
	page.outfit, page.outfitID, page.link = o.Name, o.ID, s.public
	x.MessageID, x.Tries = "msg_"+uuid.NewString(), 0
	if x.Way == db.ByHook {
		x.Body, err = page.json(loc)
	} else {
		x.Body = page.mail(locale.NewVoice(locale.LanguageFor(x.Language), o.Units, loc))
	}
	if err != nil {
		return loc, err
	}
	stored := *x
	return loc, s.db.NoteDelivery(ctx, d.Outfit, stored)
}

func (s *Sender) send(ctx context.Context, x db.Outgoing, now time.Time) error {
	if x.Way == db.ByHook {
		return s.sendHook(ctx, x, now)
	}
	return s.sendMail(ctx, x, now)
}

// noteTry says how a delivery goes on after a try.
func (s *Sender) noteTry(x *db.Outgoing, err error, now time.Time, loc *time.Location) {
	x.Tries++
	evening := NextEvening(now, x.AtMinute, loc)
	if err == nil {
		x.SentAt, x.Failed = &now, ""
	} else {
		x.Failed = whyNot(err)
		if x.Tries <= len(again) && !errors.Is(err, errGone) {
			// The next evening has a page of its own, so that a later try has no use.
			if at := now.Add(s.wait(x.Tries, err)); at.Before(evening) {
				x.NextAt = at
				return
			}
		}
	}
	x.MessageID, x.Body, x.Tries = "", "", 0
	x.NextAt = evening
}

// wait is how long after a try that failed the next one comes: as long as the other side asked for
// where that is more, and a little longer by chance.
func (s *Sender) wait(tries int, err error) time.Duration {
	wait := again[tries-1]
	if b := (busy{}); errors.As(err, &b) {
		wait = max(wait, min(b.after, mostAsked))
	}
	return wait + s.Spread(wait/spreadPart)
}

// NextEvening is the next instant after one at which the clocks of loc show a minute of the day.
func NextEvening(after time.Time, minute int, loc *time.Location) time.Time {
	y, m, d := after.In(loc).Date()
	for i := 0; ; i++ {
		if at := time.Date(y, m, d+i, minute/60, minute%60, 0, 0, loc); at.After(after) {
			return at
		}
	}
}
