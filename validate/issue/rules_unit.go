package issue

var unitRules = []Rule{}
