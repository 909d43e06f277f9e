package port

func watch(p *pty) (stop func(), err error) { return watchByProbing(p) }
