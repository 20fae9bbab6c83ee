package catalog

func open(lang string) (source, error) { return openLean(lang) }
