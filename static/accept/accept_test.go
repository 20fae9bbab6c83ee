package accept

import "testing"

// The first rows are the examples of RFC 9110, section 12.5.3.
func TestCoding(t *testing.T) {
	for _, row := range []struct {
		headers  []string
		br, gzip float64
	}{
		{[]string{"compress, gzip"}, 0, 1},
		{[]string{""}, 0, 0},
		{[]string{"*"}, 1, 1},
		{[]string{"compress;q=0.5, gzip;q=1.0"}, 0, 1},
		{[]string{"gzip;q=1.0, identity; q=0.5, *;q=0"}, 0, 1},
		{nil, 0, 0},
		{[]string{"gzip, deflate, br, zstd"}, 1, 1},
		{[]string{"gzip", "br;q=0.4"}, 0.4, 1},
		{[]string{"GZIP;Q=0.3"}, 0, 0.3},
		{[]string{"gzip;q=0"}, 0, 0},
		{[]string{"gzip;q=0, *"}, 1, 0},
		{[]string{"*;q=0.2, br"}, 1, 0.2},
		{[]string{"gzip ; q = 0.7"}, 0, 0.7},
		{[]string{"gzip;q=x"}, 0, 0},
		{[]string{"gzip;q=NaN, br;q=2"}, 0, 0},
		{[]string{"brotli, xgzip"}, 0, 0},
	} {
		if br, gz := Coding(row.headers, "br"), Coding(row.headers, "gzip"); br != row.br || gz != row.gzip {
			t.Errorf("%q: br %v, gzip %v; want %v, %v", row.headers, br, gz, row.br, row.gzip)
		}
	}
}
