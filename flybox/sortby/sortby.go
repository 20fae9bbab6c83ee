// Package sortby sorts lists in few bytes. The generic sorts of the standard
// library are compiled anew for every type of element, some ten kB each, which
// the phone's engine has to carry; this is one piece of machine code for all.
// It is slower, which no list of a person's flies is long enough to show.
package sortby

import "sort"

// Stable sorts by a comparison, which is negative if a comes before b, and
// leaves equals in their order.
func Stable[T any](list []T, compare func(a, b *T) int) {
	sort.SliceStable(list, func(i, j int) bool { return compare(&list[i], &list[j]) < 0 })
}
