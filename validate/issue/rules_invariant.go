package issue

var invariantRules = []Rule{}
