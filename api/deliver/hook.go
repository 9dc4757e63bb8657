package deliver

import (
	"context"
	"crypto/tls"
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"pullbook/db"
)

// sendHook posts a message once, signed anew with the time of the try. Its id stays, by which the other
// side tells a message that it has already. A redirect is not followed, and nothing of the answer is read but
// its number and when to come again.
func (s *Sender) sendHook(ctx context.Context, x db.Outgoing, now time.Time) error {
	signer, err := standardwebhooks.NewWebhook(x.Secret)
	if err != nil {
		return err
	}
	signature, err := signer.Sign(x.MessageID, now, []byte(x.Body))
	if err != nil {
		return err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, x.Address, strings.NewReader(x.Body))
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("User-Agent", "pullbook")
	r.Header.Set(standardwebhooks.HeaderWebhookID, x.MessageID)
	r.Header.Set(standardwebhooks.HeaderWebhookTimestamp, strconv.FormatInt(now.Unix(), 10))
	r.Header.Set(standardwebhooks.HeaderWebhookSignature, signature)
	client := &http.Client{
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
		Transport: &http.Transport{ // no proxy of the environment: it would look past reach
			DialContext: s.reach.dialer(r.URL.Scheme == "http"), TLSClientConfig: &tls.Config{RootCAs: s.Roots, MinVersion: tls.VersionTLS12},
			TLSHandshakeTimeout: dialWithin, MaxResponseHeaderBytes: 16 << 10, DisableKeepAlives: true,
		},
	}
	response, err := client.Do(r)
	if err != nil {
		return err
	}
	response.Body.Close()
	switch code := response.StatusCode; {
	case code >= 200 && code < 300:
		return nil
	case code == http.StatusGone:
		return errors.Join(errGone, refused(code))
	default:
		return busy{refused(code), retryAfter(response.Header.Get("Retry-After"), now)}
	}
}

// busy is a refusal that may say when to come again; after is 0 where it does not.
type busy struct {
	refused
	after time.Duration
}

func (b busy) Unwrap() error { return b.refused }

// retryAfter reads the header of RFC 9110, 10.2.3: seconds, or a date. What is neither, or is over,
// asks for nothing.
func retryAfter(header string, now time.Time) time.Duration {
	if seconds, err := strconv.ParseUint(header, 10, 31); err == nil {
		return time.Duration(seconds) * time.Second
	}
	at, err := http.ParseTime(header)
	if err != nil {
		return 0
	}
	return max(0, at.Sub(now))
}
