// Package match says how well a fly stands for an insect, what to change about
// it with scissors and a pen, and what to tie where nothing will do. Hooks,
// styles and what fish put up with are modelled here and nowhere else.
package match
