package memstore_test

import (
	"testing"

	"dampstone/flybox/journal"
	"dampstone/flybox/memstore"
	"dampstone/flybox/storetest"
)

func TestMemoryKeepsThePromises(t *testing.T) {
	storetest.Run(t, func(t *testing.T) storetest.Fixture {
		s := &memstore.Store{}
		return storetest.Fixture{Store: s, Reopen: func(t *testing.T) journal.Store { return s }}
	})
}
