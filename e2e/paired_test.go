package e2e

import (
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/go-rod/rod"
	"github.com/go-rod/rod/lib/proto"
)

// Servers over a folder answer paired devices alone. The test pairs itself
// with each by the link that the server shows at its first start, and gives
// the device's cookie to its own requests and to every browser.

// devices holds the cookie by the host of the server, such as
// 127.0.0.1:41234.
var devices sync.Map

// pairOnce uses the link of a first start.
func (s *server) pairOnce(link string) {
	s.t.Helper()
	u, err := url.Parse(s.url)
	if err != nil {
		s.t.Fatal(err)
	}
	if s.device == nil && link != "" && !s.unpaired {
		if s.device, err = usePairLink(link, "test"); err != nil {
			s.t.Fatal(err)
		}
	}
	if s.device != nil {
		devices.Store(u.Host, s.device)
		s.t.Cleanup(func() { devices.Delete(u.Host) })
	}
}

// usePairLink pairs a device as the form behind the link does.
func usePairLink(link, name string) (*http.Cookie, error) {
	at, code, _ := strings.Cut(link, "/pair/")
	res, err := client.PostForm(at+"/pair", url.Values{"code": {code}, "device": {name}})
	if err != nil {
		return nil, err
	}
	res.Body.Close()
	for _, c := range res.Cookies() {
		if strings.HasPrefix(c.Name, "dampstone-") {
			return c, nil
		}
	}
	return nil, http.ErrNoCookie
}

// asDevice adds the cookie of the server that a request goes to.
func asDevice(r *http.Request) {
	if c, ok := devices.Load(r.URL.Host); ok {
		r.AddCookie(c.(*http.Cookie))
	}
}

// giveDevices makes a browser the paired device of every server.
func giveDevices(t testing.TB, b *rod.Browser) {
	t.Helper()
	var cookies []*proto.NetworkCookieParam
	devices.Range(func(host, c any) bool {
		cookie := c.(*http.Cookie)
		cookies = append(cookies, &proto.NetworkCookieParam{
			Name: cookie.Name, Value: cookie.Value, URL: "http://" + host.(string) + "/", HTTPOnly: true, SameSite: proto.NetworkCookieSameSiteStrict,
			Expires: proto.TimeSinceEpoch(4102444800), // the year 2100: kept when the browser ends
		})
		return true
	})
	if len(cookies) == 0 {
		return
	}
	if err := (proto.StorageSetCookies{Cookies: cookies, BrowserContextID: b.BrowserContextID}).Call(b); err != nil {
		t.Fatal(err)
	}
}
