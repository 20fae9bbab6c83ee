package accounts_test

import (
	"testing"

	"dampstone/server/accounts"
	"dampstone/server/pgstore"
	"dampstone/server/pgstore/pgtest"
)

// TestOverPostgreSQL runs the tests of people, crews, quotas, backups and
// screens over a database in place of files.
func TestOverPostgreSQL(t *testing.T) {
	server := pgtest.Start(t)
	databases := map[string]string{} // by the folder that a test names
	accounts.KeptElsewhere = func(t *testing.T, folder string) *accounts.Elsewhere {
		if databases[folder] == "" {
			databases[folder] = server.Database(t)
		}
		s, err := pgstore.Open(t.Context(), databases[folder])
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { s.Close() })
		return s.Elsewhere()
	}
	defer func() { accounts.KeptElsewhere = nil }()
	for name, test := range map[string]func(*testing.T){
		"who is refused":                       accounts.TestWhoIsRefused,
		"each person has a ledger":             accounts.TestEachPersonHasALedgerOfTheirOwn,
		"only the owner changes others":        accounts.TestOnlyTheOwnerChangesOthers,
		"looking at a link":                    accounts.TestLookingAtALinkDoesNotUseItUp,
		"names are escaped":                    accounts.TestNamesAreEscaped,
		"invitations of one member":            accounts.TestInvitationsOfOneMemberLeaveTheOthers,
		"nobody's link by their name":          accounts.TestAMemberTakesNobodysLinkByTheirName,
		"a crew shares sightings":              accounts.TestACrewSharesSightingsAndNothingElse,
		"nothing in a crew harms another":      accounts.TestNothingInACrewHarmsAnother,
		"screens show what the crew sees":      accounts.TestScreensShowWhatTheCrewSees,
		"the feed is not kept twice":           accounts.TestWhatTheFeedHasIsNotKeptTwice,
		"marks come from the database":         accounts.TestMarksComeFromWhereTheyAreKept,
		"crew histories":                       accounts.TestCrewHistories,
		"a flood goes around by the day":       accounts.TestAFloodOfSightingsGoesAroundByTheDay,
		"a backup restores a folder":           accounts.TestABackupRestoresADataFolder,
		"a backup restores a crew":             accounts.TestABackupRestoresACrew,
		"a restore tells the crew nothing":     accounts.TestARestoreTellsTheCrewNothing,
		"a restore after pairing":              accounts.TestARestoreAfterPairingIsTheOwners,
		"backup while phones write":            accounts.TestBackupWhilePhonesWrite,
		"no more than their share":             accounts.TestAPersonKeepsNoMoreThanTheirShare,
		"no more in a day than their share":    accounts.TestAPersonAddsNoMoreInADayThanTheirShare,
		"crew and restore are not counted":     accounts.TestACrewAndARestoreAreNotCounted,
		"screens show what exchanges bring":    accounts.TestScreensShowWhatExchangesBring,
		"a device without a name is told so":   accounts.TestADeviceWithoutANameIsToldSo,
		"an invitation shows picture and link": accounts.TestInvitationShowsPictureLinkAndEnd,
	} {
		t.Run(name, test)
	}
}
