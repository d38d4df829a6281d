package issue

var termRules = []Rule{}
