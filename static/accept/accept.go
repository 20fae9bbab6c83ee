// Package accept reads what a client takes.
package accept

import (
	"strconv"
	"strings"
)

// Coding is the weight that Accept-Encoding headers give to a coding, 0 to 1
// (RFC 9110, section 12.5.3): 0 if the client does not take it or the weight
// cannot be read. "*" stands for what is not named.
func Coding(headers []string, coding string) float64 {
	others := 0.0
	for item := range strings.SplitSeq(strings.Join(headers, ","), ",") {
		name, params, _ := strings.Cut(item, ";")
		q := 1.0
		for p := range strings.SplitSeq(params, ";") {
			if k, v, ok := strings.Cut(strings.TrimSpace(p), "="); ok && strings.EqualFold(strings.TrimSpace(k), "q") {
				x, err := strconv.ParseFloat(strings.TrimSpace(v), 64)
				if q = x; err != nil || !(x >= 0 && x <= 1) {
					q = 0
				}
			}
		}
		switch name = strings.TrimSpace(name); {
		case strings.EqualFold(name, coding):
			return q
		case name == "*":
			others = q
		}
	}
	return others
}
