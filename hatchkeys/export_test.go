package hatchkeys

// What tests alone use.

// FormProbability is the probability of the form with index i.
func (r *Reading) FormProbability(i int) float64 { return r.post[i] }

const MaxLearn = maxLearn
