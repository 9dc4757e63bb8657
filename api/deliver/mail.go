package deliver

import (
	"context"
	"crypto/tls"
	"net"
	"strconv"
	"strings"
	"time"

	"github.com/wneessen/go-mail"

	"pullbook/db"
)

// portOfTLS is where mail servers speak TLS from the first byte (RFC 8314).
const portOfTLS = 465

// sendMail gives a message to the outfit's mail server once. A password goes over TLS alone.
// Its Message-ID stays over tries.
func (s *Sender) sendMail(ctx context.Context, x db.Outgoing, now time.Time) error {
	host, text, err := net.SplitHostPort(x.Server)
	if err != nil {
		return err
	}
	port, err := strconv.Atoi(text)
	if err != nil {
		return err
	}
	subject, body, _ := strings.Cut(x.Body, "\n")
	m := mail.NewMsg()
	if err := m.From(x.Sender); err != nil {
		return err
	}
	if err := m.To(x.Address); err != nil {
		return err
	}
	m.Subject(subject)
	m.SetDateWithValue(now)
	m.SetMessageIDWithValue(strings.TrimPrefix(x.MessageID, "msg_") + "@pullbook")
	m.SetGenHeader("Auto-Submitted", "auto-generated") // RFC 3834: no answer of a machine is wanted
	m.SetBodyString(mail.TypeTextPlain, body)

	trust := &tls.Config{ServerName: host, RootCAs: s.Roots, MinVersion: tls.VersionTLS12}
	dial := s.reach.dialer(false)
	options := []mail.Option{mail.WithPort(port), mail.WithTimeout(sendWithin), mail.WithTLSConfig(trust)}
	policy := mail.TLSOpportunistic
	if x.Account != "" {
		policy = mail.TLSMandatory
		options = append(options, mail.WithSMTPAuth(mail.SMTPAuthAutoDiscover), mail.WithUsername(x.Account), mail.WithPassword(x.Secret))
	}
	if port == portOfTLS {
		options = append(options, mail.WithSSL())
		plain := dial
		dial = func(ctx context.Context, network, address string) (net.Conn, error) {
			c, err := plain(ctx, network, address)
			if err != nil {
				return nil, err
			}
			over := tls.Client(c, trust)
			if err := over.HandshakeContext(ctx); err != nil {
				c.Close()
				return nil, err
			}
			return over, nil
		}
	}
	options = append(options, mail.WithTLSPolicy(policy), mail.WithDialContextFunc(dial))
	client, err := mail.NewClient(host, options...)
	if err != nil {
		return err
	}
	return client.DialAndSendWithContext(ctx, m)
}
