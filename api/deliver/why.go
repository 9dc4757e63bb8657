package deliver

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/textproto"
	"strconv"
	"strings"

	"github.com/wneessen/go-mail"

	"pullbook/db"
	"pullbook/domain/message"
)

// Why a try failed, as the database has it. Nothing of what the other side said is in it, so
// that nobody reads other machines' answers by it.
const (
	whyOwnMachine = "own_machine"
	whyInTheClear = "in_the_clear"
	whyNoName     = "no_such_name"
	whyNotTrusted = "not_trusted"
	whyNoTLS      = "no_tls"
	whyAccount    = "account_refused"
	whyLate       = "no_answer_in_time"
	whyNotThere   = "no_connection"
	// whyRefused stands before the other side's number.
	whyRefused = "refused"
)

// refused is an answer that says no, by its number in HTTP or SMTP.
type refused int

func (r refused) Error() string { return fmt.Sprintf("the other side answered %d", int(r)) }

// errGone says that a web hook is there no more (410), and is not to be tried again.
var errGone = errors.New("it is gone")

func whyNot(err error) string {
	var answered refused
	var unknown x509.UnknownAuthorityError
	var wrongHost x509.HostnameError
	var invalid x509.CertificateInvalidError
	var verification *tls.CertificateVerificationError
	var name *net.DNSError
	var smtp *mail.SendError
	var reply *textproto.Error
	switch {
	case errors.Is(err, errOwnMachine):
		return whyOwnMachine
	case errors.Is(err, errInTheClear):
		return whyInTheClear
	case errors.As(err, &answered):
		return whyRefused + " " + strconv.Itoa(int(answered))
	case errors.As(err, &reply):
		return whySMTP(reply.Code)
	case errors.As(err, &smtp) && smtp.ErrorCode() > 0:
		return whySMTP(smtp.ErrorCode())
	case errors.As(err, &unknown), errors.As(err, &wrongHost), errors.As(err, &invalid), errors.As(err, &verification):
		return whyNotTrusted
	case errors.As(err, &name):
		return whyNoName
	case strings.Contains(err.Error(), "STARTTLS"):
		return whyNoTLS
	case errors.Is(err, context.DeadlineExceeded), isTimeout(err):
		return whyLate
	}
	return whyNotThere
}

// whySMTP is a mail server's number: those of RFC 4954 say that the account is not let in.
func whySMTP(code int) string {
	if code == 530 || code == 534 || code == 535 || code == 538 {
		return whyAccount
	}
	return whyRefused + " " + strconv.Itoa(code)
}

func isTimeout(err error) bool {
	var n net.Error
	return errors.As(err, &n) && n.Timeout()
}

// SayWhy says in words why the last try failed; nothing where it did not.
func SayWhy(failed string) message.Text {
	code, number, _ := strings.Cut(failed, " ")
	switch code {
	case "":
		return message.Text{}
	case db.HeldBack:
		return message.F("The book was restored from a backup, and sends nothing until a manager says that this is the book that sends now.")
	case whyOwnMachine:
		return message.F("The address leads to the service's own machine, which is out of reach. Whoever runs the service can permit it with --deliver-to.")
	case whyInTheClear:
		return message.F("The address is plain HTTP and leads out of the local network. Use https.")
	case whyNoName:
		return message.F("Nobody knows a machine of that name. Look at the address.")
	case whyNotTrusted:
		return message.F("This machine does not trust the other side's certificate. The other side needs one that it trusts.")
	case whyNoTLS:
		return message.F("The mail server offers no encryption, and a password is not sent without it. Use another port, or no account.")
	case whyAccount:
		return message.F("The mail server does not take the account or its password. End this one and set it up anew.")
	case whyLate:
		return message.F("The other side did not answer in time.")
	case whyRefused:
		return message.F("The other side refused it, with the number %s.", number)
	}
	return message.F("There was no connection to the other side.")
}
