package issue

var monthRules = []Rule{}
