package deliver

import (
	"crypto/rand"
	"encoding/base64"
	"net"
	"net/mail"
	"net/netip"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// Wish is what a manager wants to be delivered, as typed.
type Wish struct {
	Way, Name, Address string
	// Server, Sender, Account and Password are of mail alone.
	Server, Sender, Account, Password string
	// At is a time of day, as 19:00.
	At       string
	Language string
}

// mailPorts are where mail servers take mail: no other service is spoken to by it.
var mailPorts = []int{25, 465, 587, 2525}

// mostAddress bounds an address.
const mostAddress = 2000

// New makes a delivery of a wish, which begins on the next evening. It fails with all that
// the wish has wrong.
func (w Wish) New(config *request.Config, madeBy string, loc *time.Location) (db.Outgoing, error) {
	x := db.Outgoing{Delivery: db.Delivery{
		ID: uuid.New(), Way: w.Way, Name: strings.TrimSpace(w.Name), Address: strings.TrimSpace(w.Address), Language: w.Language, MadeBy: madeBy,
	}}
	var wrong []fault.Field
	say := func(field, sent string, says message.Text) {
		wrong = append(wrong, fault.Field{Pointer: "/" + field, Sent: sent, Message: says})
	}
	at, err := time.Parse("15:04", w.At)
	if err != nil {
		say("at", w.At, message.F("A time of day is like 19:00."))
	}
	x.AtMinute = at.Hour()*60 + at.Minute()
	if x.Name == "" {
		say("name", w.Name, message.F("Say whom it is for, so that people can tell it from others later."))
	}
	if x.Language != "en" && x.Language != "es" {
		say("language", w.Language, message.F("The language is en or es."))
	}
	reach := reach{permitted: config.DeliverTo, own: net.InterfaceAddrs}
	switch w.Way {
	case db.ByHook:
		if says := reach.checkHook(x.Address); !says.IsEmpty() {
			say("address", "", says)
		}
		x.Secret = newHookSecret()
	case db.ByMail:
		x.Server, x.Sender, x.Account, x.Secret = strings.TrimSpace(w.Server), strings.TrimSpace(w.Sender), strings.TrimSpace(w.Account), w.Password
		for _, a := range []struct{ field, sent string }{{"address", x.Address}, {"sender", x.Sender}} {
			if is, err := mail.ParseAddress(a.sent); err != nil || is.Address != a.sent || len(a.sent) > 254 {
				say(a.field, a.sent, message.F("A mail address is like office@honey.example."))
			}
		}
		if says := reach.checkServer(x.Server); !says.IsEmpty() {
			say("server", x.Server, says)
		}
		if (x.Account == "") != (x.Secret == "") {
			say("password", "", message.F("An account needs its password, and a password its account."))
		}
	default:
		say("way", w.Way, message.F("The way is mail or hook."))
	}
	if len(wrong) > 0 {
		return x, &fault.Error{Code: fault.Invalid, Message: message.F("Nothing was set up."), Fields: wrong}
	}
	x.NextAt = NextEvening(config.Now(), x.AtMinute, loc)
	return x, nil
}

// newHookSecret is what signs a web hook: 32 random bytes, as Standard Webhooks writes them.
func newHookSecret() string {
	b := make([]byte, 32)
	_, _ = rand.Read(b) // it never fails
	return "whsec_" + base64.StdEncoding.EncodeToString(b)
}

// checkHook says what is wrong with the address of a web hook. Where its name leads is looked at when
// it is sent.
func (r reach) checkHook(address string) message.Text {
	u, err := url.Parse(address)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Hostname() == "" || u.User != nil || u.Fragment != "" || len(address) > mostAddress {
		return message.F("The address of a web hook is like https://office.example/pullbook: https, or http within the local network, with no name or password in it.")
	}
	return r.checkHost(u.Hostname(), u.Scheme == "http")
}

func (r reach) checkServer(server string) message.Text {
	host, text, err := net.SplitHostPort(server)
	port, errPort := strconv.Atoi(text)
	if err != nil || errPort != nil || host == "" || len(server) > 255 || !slices.Contains(mailPorts, port) {
		return message.F("A mail server is named with its port, like mail.honey.example:587. The port is 25, 465, 587 or 2525.")
	}
	return r.checkHost(host, false)
}

// checkHost refuses at once what is an address already and cannot be reached.
func (r reach) checkHost(host string, private bool) message.Text {
	a, err := netip.ParseAddr(host)
	switch {
	case strings.EqualFold(host, "localhost"):
		a = netip.AddrFrom4([4]byte{127, 0, 0, 1})
	case err != nil:
		return message.Text{}
	}
	if err := r.check(a, private); err != nil {
		return SayWhy(whyNot(err))
	}
	return message.Text{}
}
