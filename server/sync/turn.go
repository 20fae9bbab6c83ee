//go:build !js

package sync

import (
	"context"
	"runtime"
)

// turns bound how many exchanges are worked on at once, over all ledgers: as
// many more would make none of them quicker, and the screens of others would
// wait behind each.
type turns chan struct{}

var (
	reading = make(turns, max(1, runtime.GOMAXPROCS(0)/2)) // what was brought is understood
	writing = make(turns, max(2, runtime.GOMAXPROCS(0)))   // it is compared, and written: some of that is waiting for the disk
)

// take waits for a turn, which ends when done is called.
func (t turns) take(ctx context.Context) (done func(), err error) {
	select {
	case t <- struct{}{}:
		return func() { <-t }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}
