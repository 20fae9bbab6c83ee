package views

// LedgerView asks what to do where the server keeps another ledger than this
// phone.
type LedgerView struct {
	Page
	Lead  string
	Here  string    // how much is on this phone
	Apart *PostForm // open the server's ledger beside it; nil if there is no other
	Join  *PostForm // take what is here along into it; nil if that may not be
}
