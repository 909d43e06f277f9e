package port

func watch(t *terminal) (stop func(), err error) { return watchByProbing(t) }

// unwatch has nothing to end: there is no more than the watches themselves.
func unwatch(*pty) {}
