package catalog

func open(lang string) (source, error) { return openLean(lang) }

func match(wishes ...string) string { return matchLean(wishes...) }
